/** What the graphics card runs: faces in quiet light with the wood's lines, and lines of constant width. */

const FRAME = /* glsl */ `
in vec4 row0, row1, row2, fill, edge, trait, manner;
vec3 stood(vec3 p) { vec4 q = vec4(p, 1.0); return vec3(dot(row0, q), dot(row1, q), dot(row2, q)); }
`;

export const FACE_VERTEX = /* glsl */ `
precision highp float;
uniform mat4 wholeView;
uniform vec3 key;
uniform float dark;
in vec3 position, normal;
${FRAME}
out vec4 tint;
out vec3 lies;
out vec3 own;
flat out float pattern;
void main() {
  vec3 at = stood(position);
  vec3 n = normalize(vec3(dot(row0.xyz, normal), dot(row1.xyz, normal), dot(row2.xyz, normal)));
  float sky = 0.5 + 0.5 * n.z;
  float light = mix(0.66, 0.92, sky) + 0.24 * max(dot(n, key), 0.0) - 0.07;
  tint = vec4(fill.rgb * mix(light, light * 0.86, dark), fill.a);
  float end = smoothstep(0.75, 0.95, abs(dot(normal, trait.xyz)));
  vec3 across = cross(normal, trait.xyz);
  float wide = length(across);
  lies = vec3(dot(position, across / max(wide, 0.2)) + manner.z * 7.0, dot(position, trait.xyz) + manner.z * 131.0, end);
  if (end > 0.5) tint.rgb *= 0.9;
  own = at;
  pattern = trait.w;
  gl_Position = wholeView * vec4(at, 1.0);
}`;

const GRAIN = /* glsl */ `
float hash(vec2 p) { vec3 q = fract(p.xyx * 0.1031); q += dot(q, q.yzx + 33.33); return fract((q.x + q.y) * q.z); }
float smooth2(vec2 p) {
  vec2 i = floor(p), f = p - i; f = f * f * (3.0 - 2.0 * f);
  return mix(mix(hash(i), hash(i + vec2(1.0, 0.0)), f.x), mix(hash(i + vec2(0.0, 1.0)), hash(i + vec2(1.0, 1.0)), f.x), f.y);
}
float fibres(vec3 lies) {
  float blur = fwidth(lies.x);
  float seen = 1.0 - smoothstep(3.0, 9.0, blur);
  if (seen <= 0.0 || lies.z > 0.5) return 1.0;
  float bend = lies.x + 9.0 * smooth2(lies.yy * vec2(0.0021, 0.0) + vec2(0.0, floor(lies.x / 400.0)));
  float band = smooth2(vec2(bend * 0.085, lies.y * 0.0016));
  float line = abs(fract(band * 4.0) - 0.5) * 2.0;
  return 1.0 - seen * (0.075 * smoothstep(0.62, 1.0, line) + 0.05 * band);
}
`;

export const FACE_FRAGMENT = /* glsl */ `
precision highp float;
uniform vec3 cameraPosition;
uniform vec3 hatch;
uniform vec4 plane;
in vec4 tint;
in vec3 lies;
in vec3 own;
flat in float pattern;
out vec4 shown;
${GRAIN}
float stripe(float where, float share) {
  float blur = max(fwidth(where), 1e-4);
  float off = abs(fract(where) - 0.5) * 2.0;
  return mix(smoothstep(share + 2.0 * blur, share - 2.0 * blur, off), share, smoothstep(0.3, 0.8, blur));
}
void main() {
  vec4 colour = tint;
#ifdef CUT
  float over = dot(plane.xyz, own) - plane.w;
  if (over > 0.0) discard;
  if (!gl_FrontFacing) {
    vec3 way = own - cameraPosition;
    float near = dot(plane.xyz, cameraPosition) - plane.w;
    vec3 cap = cameraPosition + way * (near / (near - over));
    vec3 side = abs(plane.x) > 0.5 ? cap.yzx : abs(plane.y) > 0.5 ? cap.zxy : cap.xyz;
    float line = stripe((side.x + side.y) * hatch.y, 0.24);
    shown = vec4(mix(tint.rgb * 1.02, tint.rgb * 0.62, line), tint.a);
    return;
  }
#endif
  if (pattern < 0.5) colour.rgb *= fibres(lies);
  else if (pattern < 1.5) colour.rgb = mix(colour.rgb, hatch.z > 0.5 ? colour.rgb * 0.72 : colour.rgb * vec3(0.62, 0.80, 0.93), stripe((own.x + own.y + own.z) * hatch.x, 0.3));
  shown = colour;
}`;

export const LINE_VERTEX = /* glsl */ `
precision highp float;
uniform mat4 wholeView;
uniform vec2 screen;
uniform float ratio, lift, nearest;
in vec3 from, to;
in vec2 corner;
${FRAME}
out vec4 ink;
out float aside, half_, run;
flat out float dash;
#ifdef CUT
out vec3 own;
#endif
void main() {
  vec3 wa = stood(from), wb = stood(to);
  vec4 ca = wholeView * vec4(wa, 1.0), cb = wholeView * vec4(wb, 1.0);
  ink = vec4(edge.rgb, manner.x); dash = manner.y * ratio; half_ = 0.5 * edge.w * ratio; aside = 0.0; run = 0.0;
#ifdef CUT
  own = corner.x < 0.5 ? wa : wb;
#endif
  if (ca.w < nearest && cb.w < nearest) { gl_Position = vec4(0.0, 0.0, 2.0, 1.0); return; }
  if (ca.w < nearest) ca = mix(ca, cb, (nearest - ca.w) / (cb.w - ca.w));
  if (cb.w < nearest) cb = mix(cb, ca, (nearest - cb.w) / (ca.w - cb.w));
  vec2 sa = ca.xy / ca.w * screen, sb = cb.xy / cb.w * screen;
  vec2 way = sb - sa;
  float far = length(way);
  way = far > 1e-4 ? way / far : vec2(1.0, 0.0);
  if (half_ < 0.5) { ink.a *= half_ * 2.0; half_ = 0.5; }
  float reach = half_ + 0.75;
  float end = corner.x * 2.0 - 1.0;
  vec4 at = corner.x < 0.5 ? ca : cb;
  vec2 off = vec2(-way.y, way.x) * corner.y * reach + way * end * min(half_, 1.5);
  aside = corner.y * reach;
  run = corner.x * far;
  gl_Position = vec4(at.xy + off / screen * at.w, at.z - 2.0 * nearest * lift, at.w);
}`;

export const LINE_FRAGMENT = /* glsl */ `
precision highp float;
uniform vec4 plane;
in vec4 ink;
in float aside, half_, run;
flat in float dash;
#ifdef CUT
in vec3 own;
#endif
out vec4 shown;
void main() {
#ifdef CUT
  if (dot(plane.xyz, own) - plane.w > 0.01) discard;
#endif
  float cover = clamp(half_ + 0.5 - abs(aside), 0.0, 1.0);
  if (dash > 0.0) cover *= clamp(dash * 0.5 - abs(mod(run, dash * 1.7) - dash * 0.5) + 0.5, 0.0, 1.0);
  shown = vec4(ink.rgb, ink.a * cover);
}`;

export const SHADE_VERTEX = /* glsl */ `
precision highp float;
uniform mat4 viewMatrix, projectionMatrix;
in vec2 position;
in vec4 spot, reach;
out vec2 at;
flat out vec4 size;
void main() {
  at = position * (reach.xy + reach.z * 2.0);
  size = reach;
  vec2 turned = vec2(at.x * spot.z - at.y * spot.w, at.x * spot.w + at.y * spot.z);
  gl_Position = projectionMatrix * viewMatrix * vec4(spot.xy + turned, 0.0, 1.0);
}`;

export const SHADE_FRAGMENT = /* glsl */ `
precision highp float;
uniform float weight;
in vec2 at;
flat in vec4 size;
out vec4 shown;
float side(float x, float half_, float soft) {
  return smoothstep(-soft, soft, x + half_) - smoothstep(-soft, soft, x - half_);
}
void main() {
  float dim = side(at.x, size.x, size.z * 2.0) * side(at.y, size.y, size.z * 2.0);
  shown = vec4(0.1, 0.07, 0.04, dim * size.w * weight);
}`;
