// The shop's buffers (docs/api.md, "Buffers"): bytes that are looked at where they lie.
export type Numbers = Float32Array | Uint32Array | Int32Array;

export interface About {
  file: string;
  sha256: string;
  up: [number, number, number];
  zones?: string[];
  openings?: string[];
  media?: string;
  /** Triangles that there were before it was made coarser, and how far off it is. */
  simplified_from?: number;
  error_mm?: number;
}

export interface Buffer {
  about: About;
  /** Views into the bytes, by name; width numbers to a row. */
  arrays: Map<string, { of: Numbers; width: number }>;
}

interface Entry {
  name: string;
  type: string;
  width: number;
  count: number;
  at_byte: number;
}

const magic = "FETTLE1\n";
const little = new Uint8Array(new Uint16Array([1]).buffer)[0] === 1;

/** open lays views over a buffer; nothing is copied. */
export function open(bytes: ArrayBuffer): Buffer {
  const text = new TextDecoder();
  if (bytes.byteLength < 16 || text.decode(new Uint8Array(bytes, 0, 8)) !== magic) throw new Error("this is no buffer of the shop");
  if (!little) throw new Error("this machine counts its bytes the other way round");
  const length = new DataView(bytes).getUint32(8, true);
  if (16 + length > bytes.byteLength) throw new Error("the buffer is cut off");
  const head = JSON.parse(text.decode(new Uint8Array(bytes, 16, length))) as { about: About; arrays: Entry[] };
  const arrays: Buffer["arrays"] = new Map();
  for (const e of head.arrays) {
    const n = e.width * e.count;
    if (e.at_byte % 4 || e.at_byte + 4 * n > bytes.byteLength) throw new Error(`${e.name} lies outside of the buffer`);
    const of = e.type === "f32" ? new Float32Array(bytes, e.at_byte, n) : e.type === "u32" ? new Uint32Array(bytes, e.at_byte, n) : new Int32Array(bytes, e.at_byte, n);
    arrays.set(e.name, { of, width: e.width });
  }
  return { about: head.about, arrays };
}

/** floats, whole and counts are the arrays of a name, empty where there is none. */
export const floats = (b: Buffer, name: string): Float32Array => (b.arrays.get(name)?.of as Float32Array | undefined) ?? new Float32Array(0);
export const counts = (b: Buffer, name: string): Uint32Array => (b.arrays.get(name)?.of as Uint32Array | undefined) ?? new Uint32Array(0);
export const whole = (b: Buffer, name: string): Int32Array => (b.arrays.get(name)?.of as Int32Array | undefined) ?? new Int32Array(0);
