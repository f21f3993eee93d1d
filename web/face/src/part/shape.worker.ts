// The bytes come here and go back with what was worked out: nothing is copied on the way.
import { open, counts, floats, whole } from "./buffer.ts";
import { labelsOf } from "./mesh.ts";
import { shapeOf } from "./shape.ts";

onmessage = (e: MessageEvent<ArrayBuffer>) => {
  try {
    const b = open(e.data);
    const shape = shapeOf({ position: floats(b, "position"), triangle: counts(b, "triangle"), label: labelsOf(whole(b, "face"), whole(b, "zone")) });
    const give = [e.data, shape.corner.buffer, shape.owner.buffer, shape.position.buffer, shape.normal.buffer, shape.index.buffer, shape.lines.buffer];
    postMessage({ bytes: e.data, shape }, { transfer: give as ArrayBuffer[] });
  } catch (wrong) {
    postMessage({ bytes: e.data, wrong: String(wrong) }, { transfer: [e.data] });
  }
};
