// Metal under a light that rakes over it from the upper left, as one turns it at the bench.
import { channels, scale } from "./colours.ts";

export const vertex = /* glsl */ `
in float tone;
in float value;
out vec3 vAt;
out vec3 vNormal;
out float vValue;
flat out float vTone;
void main() {
  vAt = position;
  vNormal = normal;
  vTone = tone;
  vValue = value;
  gl_Position = projectionMatrix * viewMatrix * vec4(position, 1.0);
}`;

const ramp = scale.map((c) => `vec3(${channels(c).map((v) => (v / 255).toFixed(4)).join(", ")})`);

export const fragment = /* glsl */ `
precision highp float;
in vec3 vAt;
in vec3 vNormal;
in float vValue;
flat in float vTone;
out vec4 colour;
uniform int kind;
uniform float low, high, dots;
uniform vec3 right, up, back, metal, blue, ink, plate, lay;
const vec3 ramp[${ramp.length}] = vec3[](${ramp.join(", ")});
const vec3 lamp = vec3(-0.76, 0.52, 0.39);

vec3 even(float x) {
  float s = clamp(x, 0.0, 1.0) * ${(ramp.length - 1).toFixed(1)};
  int i = min(int(s), ${ramp.length - 2});
  return mix(ramp[i], ramp[i + 1], s - float(i));
}

// Lines on the screen: how much of this dot one covers.
float line(float across, float apart, float wide) {
  float d = abs(mod(across, apart) - 0.5 * apart);
  return 1.0 - smoothstep(wide - 0.6, wide + 0.6, d);
}

void main() {
  vec3 nw = normalize(gl_FrontFacing ? vNormal : -vNormal);
  vec3 vw = normalize(cameraPosition - vAt);
  vec3 n = vec3(dot(nw, right), dot(nw, up), dot(nw, back));
  vec3 v = vec3(dot(vw, right), dot(vw, up), dot(vw, back));
  bool none = vValue < -1e29;
  float ra = kind == 2 && !none ? vValue : 0.6;
  float rough = clamp(0.16 + 0.24 * log2(1.0 + ra / 0.15), 0.14, 1.0);

  // A room that is light above and dark below, and a strip of light low at the left.
  vec3 r = reflect(-v, n);
  float room = mix(smoothstep(-0.55, 0.85, r.y), 0.5 + 0.35 * n.y, rough);
  float rake = max(dot(n, lamp), 0.0);
  float shine;
  vec3 h = normalize(lamp + v);
  if (kind == 2 && !none && dot(lay, lay) > 0.0) {
    // Scratches throw light across themselves, not along (Ward, SIGGRAPH 1992).
    vec3 l = vec3(dot(lay, right), dot(lay, up), dot(lay, back));
    vec3 t = normalize(l - n * dot(l, n) + 1e-5);
    vec3 b = cross(n, t);
    float ax = 0.10 + 0.15 * rough, ay = 0.25 + 0.75 * rough;
    float hn = max(dot(h, n), 1e-3);
    shine = 0.9 * exp(-(pow(dot(h, t) / ax, 2.0) + pow(dot(h, b) / ay, 2.0)) / (hn * hn));
  } else {
    shine = mix(1.3, 0.35, rough) * pow(max(dot(r, lamp), 0.0), mix(60.0, 3.0, rough));
  }
  vec3 lit = metal * (0.34 + 0.52 * room + 0.34 * rake) + (0.3 + 0.7 * metal) * shine * 0.42;
  float relief = 0.70 + 0.18 * room + 0.20 * rake;

  vec3 c = lit;
  if (kind == 1 && !none) {
    float x = high > low ? (vValue - low) / (high - low) : 0.0;
    c = even(x) * relief;
  } else if (kind == 0) {
    vec2 p = gl_FragCoord.xy / dots;
    if (vTone < 0.5) {
      c = mix(lit, mix(vec3(0.36, 0.52, 0.86), blue, 0.25) * (0.42 + 0.5 * room + 0.45 * rake), 0.62) + 0.18 * shine;
    } else if (vTone < 1.5) {
      c = mix(lit, ink, 0.62 * line(p.x - p.y, 11.0, 0.7));
    } else {
      c = mix(0.62 * lit, ink, 0.66 * max(line(p.x - p.y, 8.5, 0.6), line(p.x + p.y, 8.5, 0.6)));
    }
  } else if (kind == 1) {
    // Nothing is known here: bare metal with dots, which no colour of the scale has.
    vec2 p = mod(gl_FragCoord.xy / dots, 7.0) - 3.5;
    c = mix(0.85 * lit, ink, 0.5 * (1.0 - smoothstep(0.7, 1.4, length(p))));
  }
  colour = vec4(pow(clamp(c, 0.0, 1.0), vec3(1.0)), 1.0);
}`;
