// The part in three dimensions. Loaded when a part is to be shown, with three behind it;
// draws when something changed and rests otherwise.
import { BufferAttribute, BufferGeometry, Color, GLSL3, LineBasicMaterial, LineSegments, LinearSRGBColorSpace, Mesh, PerspectiveCamera, Scene, ShaderMaterial, Vector3, WebGLRenderer } from "three";
import type { Mesh as Part, Vec } from "./mesh.ts";
import { Orbit } from "./orbit.ts";
import type { Coat, Project } from "./picture.ts";
import { fragment, vertex } from "./shaders.ts";

const lens = Math.tan((15 * Math.PI) / 180);
const kinds = { zones: 0, values: 1, look: 2 } as const;

export interface Events {
  /** After each frame: where places lie now, and how long frames take, ms. */
  drawn(project: Project, ms: number): void;
  /** The browser took the drawing away; it may give it back within a while. */
  lost(): void;
  restored(): void;
}

export class View {
  readonly orbit: Orbit;
  readonly #canvas: HTMLCanvasElement;
  readonly #renderer: WebGLRenderer;
  readonly #scene = new Scene();
  readonly #camera = new PerspectiveCamera(30, 1, 0.1, 1000);
  readonly #events: Events;
  readonly #stop = new AbortController();
  readonly #skin = new ShaderMaterial({
    glslVersion: GLSL3, vertexShader: vertex, fragmentShader: fragment, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1, side: 2,
    uniforms: {
      kind: { value: 0 }, low: { value: 0 }, high: { value: 1 }, dots: { value: 1 }, right: { value: new Vector3() }, up: { value: new Vector3() }, back: { value: new Vector3() },
      metal: { value: new Color() }, blue: { value: new Color() }, ink: { value: new Color() }, plate: { value: new Color() }, lay: { value: new Vector3() },
    },
  });
  readonly #ink = new LineBasicMaterial({ transparent: true, opacity: 0.65 });
  #solid: Mesh<BufferGeometry, ShaderMaterial> | null = null;
  #lines: LineSegments<BufferGeometry, LineBasicMaterial> | null = null;
  #part: Part | null = null;
  #ticket = 0;
  #last = 0;
  #dead = false;

  /** It throws where there is no WebGL. */
  constructor(canvas: HTMLCanvasElement, events: Events) {
    this.#canvas = canvas;
    this.#events = events;
    this.orbit = new Orbit(() => this.draw());
    this.#renderer = new WebGLRenderer({ canvas, alpha: true, antialias: true, powerPreference: "low-power" });
    this.#renderer.outputColorSpace = LinearSRGBColorSpace; // the shader's colours are the screen's
    this.#scene.matrixWorldAutoUpdate = false;
    const on = { signal: this.#stop.signal };
    canvas.addEventListener("webglcontextlost", (e) => (e.preventDefault(), events.lost()), on);
    canvas.addEventListener("webglcontextrestored", () => (events.restored(), this.draw()), on);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => (this.scheme(), this.draw()), on);
    this.scheme();
  }

  /** scheme takes colours from the page. */
  scheme(): void {
    const css = getComputedStyle(this.#canvas);
    const u = this.#skin.uniforms;
    for (const name of ["blue", "ink", "plate"]) (u[name]!.value as Color).setStyle(css.getPropertyValue(`--${name}`).trim() || "#888888", LinearSRGBColorSpace);
    const dark = matchMedia("(prefers-color-scheme: dark)").matches;
    // Lines are drawn dark on light metal and light where the page is dark, patterns always dark.
    (u.ink!.value as Color).setStyle("#12181b", LinearSRGBColorSpace);
    this.#ink.color.setStyle(dark ? "#dfe6e8" : "#12181b", LinearSRGBColorSpace);
  }

  /** show puts a coat on a part; the part is taken up where it is another. */
  show(c: Coat): void {
    if (c.mesh !== this.#part) this.#take(c.mesh);
    const g = this.#solid!.geometry;
    set(g, "tone", c.tone);
    set(g, "value", c.value.map((v) => (Number.isFinite(v) ? v : -1e30)));
    const u = this.#skin.uniforms;
    u.kind!.value = kinds[c.kind];
    u.low!.value = c.low;
    u.high!.value = c.high;
    (u.metal!.value as Color).setRGB(...c.metal, LinearSRGBColorSpace);
    (u.lay!.value as Vector3).set(...(c.lay ?? [0, 0, 0]));
    this.draw();
  }

  #take(m: Part): void {
    const first = !this.#part;
    this.#drop();
    this.#part = m;
    const g = new BufferGeometry();
    g.setAttribute("position", new BufferAttribute(m.shape.position, 3));
    g.setAttribute("normal", new BufferAttribute(m.shape.normal, 3));
    g.setIndex(new BufferAttribute(m.shape.index, 1));
    this.#solid = new Mesh(g, this.#skin);
    const l = new BufferGeometry();
    l.setAttribute("position", new BufferAttribute(m.shape.lines, 3));
    this.#lines = new LineSegments(l, this.#ink);
    for (const o of [this.#solid, this.#lines]) {
      o.frustumCulled = false;
      this.#scene.add(o);
    }
    if (first) this.orbit.round(m.shape.box, m.about.up);
  }

  #drop(): void {
    for (const o of [this.#solid, this.#lines]) {
      if (!o) continue;
      this.#scene.remove(o);
      o.geometry.dispose();
    }
    this.#solid = this.#lines = null;
  }

  /** draw soon; asking often draws once. */
  draw(): void {
    if (this.#ticket || this.#dead) return;
    this.#ticket = requestAnimationFrame((now) => {
      this.#ticket = 0;
      this.#frame(now);
    });
  }

  #frame(now: number): void {
    const [w, h] = [this.#canvas.clientWidth, this.#canvas.clientHeight];
    if (!w || !h || !this.#solid || this.#renderer.getContext().isContextLost()) return;
    const dots = Math.min(devicePixelRatio || 1, 2);
    if (this.#canvas.width !== Math.round(w * dots) || this.#canvas.height !== Math.round(h * dots)) {
      this.#renderer.setPixelRatio(dots);
      this.#renderer.setSize(w, h, false);
    }
    this.#look(w / h);
    this.#skin.uniforms.dots!.value = dots;
    const before = performance.now();
    this.#renderer.render(this.#scene, this.#camera);
    // While it is turned, a frame lasts from one to the next; alone, until the browser is free again.
    const moving = now - this.#last < 1500 && this.#last > 0;
    const ms = now - this.#last;
    this.#last = now;
    if (moving) this.#events.drawn(this.project, ms);
    else requestAnimationFrame(() => !this.#dead && this.#events.drawn(this.project, performance.now() - before));
  }

  #look(aspect: number): void {
    const c = this.#camera;
    const l = aspect < 1 ? lens * aspect : lens;
    const e = this.orbit.eye(l);
    c.fov = (2 * Math.atan(lens) * 180) / Math.PI;
    c.aspect = aspect;
    const d = Math.hypot(e.at[0] - e.target[0], e.at[1] - e.target[1], e.at[2] - e.target[2]);
    c.near = Math.max(d - 2.1 * this.orbit.radius, d / 100);
    c.far = d + 2.1 * this.orbit.radius;
    c.position.set(...e.at);
    c.up.set(...e.up);
    c.lookAt(...e.target);
    c.updateProjectionMatrix();
    c.updateMatrixWorld(true);
    const u = this.#skin.uniforms;
    (u.right!.value as Vector3).set(...e.right);
    (u.up!.value as Vector3).set(...e.up);
    (u.back!.value as Vector3).set(...e.back);
  }

  project = (at: Vec): { x: number; y: number } | null => {
    const p = new Vector3(...at).project(this.#camera);
    if (p.z > 1) return null;
    return { x: ((p.x + 1) / 2) * this.#canvas.clientWidth, y: ((1 - p.y) / 2) * this.#canvas.clientHeight };
  };

  /** ray goes from the eye through a place of the page. */
  ray(x: number, y: number): { from: Vec; toward: Vec } {
    const box = this.#canvas.getBoundingClientRect();
    const p = new Vector3(((x - box.left) / box.width) * 2 - 1, 1 - ((y - box.top) / box.height) * 2, 0.5).unproject(this.#camera);
    const o = this.#camera.position;
    const d = p.sub(o).normalize();
    return { from: [o.x, o.y, o.z], toward: [d.x, d.y, d.z] };
  }

  /** still is the part as it is seen now, as the address of a picture. */
  still(): string {
    this.#frame(performance.now());
    return this.#canvas.toDataURL("image/png");
  }

  dispose(): void {
    this.#dead = true;
    cancelAnimationFrame(this.#ticket);
    this.#stop.abort();
    this.#drop();
    this.#skin.dispose();
    this.#ink.dispose();
    this.#renderer.dispose();
    if (!this.#renderer.getContext().isContextLost()) this.#renderer.forceContextLoss(); // browsers keep few of them
  }
}

function set(g: BufferGeometry, name: string, of: Float32Array): void {
  const old = g.getAttribute(name) as BufferAttribute | undefined;
  if (old && old.array.length === of.length) {
    old.array.set(of);
    old.needsUpdate = true;
  } else g.setAttribute(name, new BufferAttribute(of, 1));
}
