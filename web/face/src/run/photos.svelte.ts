// Photos that were taken while the shop was away wait in the browser's own database
// (IndexedDB: localStorage holds no pictures) and are sent when it is back, each once.
import { freshKey, onHeard, Problem, upload } from "../api/ask.ts";
import { outbox } from "../api/outbox.svelte.ts";
import type { Kept, Photo } from "../api/types.ts";

export interface Waiting {
  key: string;
  /** What the photo is of: { run: id } or { job: id }; { hold: name } is of what is still to be made. */
  of: Record<string, string>;
  says: string;
  at: string;
  photo: Blob;
  refused?: string;
}

const open = (): Promise<IDBDatabase> =>
  new Promise((done, fail) => {
    const q = indexedDB.open("fettle", 1);
    q.onupgradeneeded = () => q.result.createObjectStore("photos", { keyPath: "key" });
    q.onsuccess = () => done(q.result);
    q.onerror = () => fail(q.error ?? new Error("no database"));
  });

async function act<T>(mode: IDBTransactionMode, what: (s: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const db = await open();
  try {
    return await new Promise((done, fail) => {
      const t = db.transaction("photos", mode);
      const q = what(t.objectStore("photos"));
      t.oncomplete = () => done(q.result);
      t.onerror = t.onabort = () => fail(t.error ?? q.error ?? new Error("not kept"));
    });
  } finally {
    db.close();
  }
}

/** jpeg is a picture in a form that the shop takes. */
async function jpeg(file: Blob): Promise<Blob> {
  if (file.type === "image/jpeg" || file.type === "image/png") return file;
  const far = await createImageBitmap(file).catch(() => null);
  if (!far) return file; // the shop says what is wrong with it
  const c = document.createElement("canvas");
  c.width = far.width;
  c.height = far.height;
  c.getContext("2d")?.drawImage(far, 0, 0);
  far.close();
  return (await new Promise<Blob | null>((done) => c.toBlob(done, "image/jpeg", 0.92))) ?? file;
}

class Photos {
  waiting: Waiting[] = $state.raw([]);
  /** Of the photo on its way, 0 to 1; -1 for none. */
  far = $state(-1);
  #busy = false;
  #timer = 0;
  #arrived = new Set<(k: Kept<Photo>, w: Waiting) => void>();

  constructor() {
    void this.#read().then(() => this.push());
    onHeard((heard) => heard && this.waiting.some((w) => !w.refused) && this.#later(300));
    addEventListener("online", () => void this.push());
  }

  async #read(): Promise<void> {
    try {
      this.waiting = await act("readonly", (s) => s.getAll() as IDBRequest<Waiting[]>);
    } catch {
      // a browser that keeps nothing: a photo is sent at once or not at all
    }
  }

  /** add keeps a photo and sends it; true where it waits for the shop. */
  async add(file: Blob, of: Record<string, string>, says: string): Promise<boolean> {
    const w: Waiting = { key: freshKey(), of, says, at: new Date().toISOString(), photo: await jpeg(file) };
    this.waiting = [...this.waiting, w];
    await act("readwrite", (s) => s.put(w)).catch(() => {});
    if (of.hold) return true;
    await this.push();
    const left = this.waiting.find((x) => x.key === w.key);
    if (left?.refused) {
      await this.forget(w.key);
      throw new Problem(left.refused, 422, "invalid");
    }
    return !!left;
  }

  /** release says what photos that were held are of, now that it is made. */
  async release(hold: string, of: Record<string, string>): Promise<void> {
    this.waiting = this.waiting.map((w) => (w.of.hold === hold ? { ...w, of } : w));
    for (const w of this.waiting) if (w.of === of) await act("readwrite", (s) => s.put(w)).catch(() => {});
    void this.push();
  }

  async forget(key: string): Promise<void> {
    this.waiting = this.waiting.filter((w) => w.key !== key);
    await act("readwrite", (s) => s.delete(key)).catch(() => {});
  }

  #later(ms: number) {
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.push(), ms);
  }

  /** push sends what waits, one after the other. */
  async push(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    try {
      for (const w of [...this.waiting]) {
        if (w.refused || w.of.hold) continue;
        // The run that it is of may not have arrived yet.
        if (outbox.letters.some((l) => !l.refused && (l.body as { id?: string } | undefined)?.id === w.of.run)) {
          this.#later(3000);
          continue;
        }
        try {
          this.far = 0;
          const q = new URLSearchParams({ ...w.of, says: w.says, name: `photo-${w.at.slice(0, 19).replace(/[:T]/g, "-")}.${w.photo.type === "image/png" ? "png" : "jpg"}` });
          const kept = await upload<Kept<Photo>>(`photos?${q}`, w.photo, w.key, (f) => (this.far = f));
          await this.forget(w.key);
          this.#arrived.forEach((tell) => tell(kept, w));
        } catch (e) {
          if (e instanceof Problem && !e.lost && e.status !== 401 && e.status !== 429) {
            const refused = { ...w, refused: e.message };
            this.waiting = this.waiting.map((x) => (x.key === w.key ? refused : x));
            await act("readwrite", (s) => s.put(refused)).catch(() => {});
            continue;
          }
          this.#later(5000);
          return;
        }
      }
    } finally {
      this.#busy = false;
      this.far = -1;
    }
  }

  onArrived(tell: (k: Kept<Photo>, w: Waiting) => void): () => void {
    this.#arrived.add(tell);
    return () => this.#arrived.delete(tell);
  }
}

export const photos = new Photos();
