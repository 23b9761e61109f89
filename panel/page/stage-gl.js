// Paints the stage's light with WebGL2: one instance a lit head, added up in
// half floats, then clipped softly. What is painted is soft, so that few pixels do.

import { hallFloor } from "./stage-space.js";
import { gain, haziness, knee, paint } from "./stage-light.js";

const budget = 260e3, share = 12e6; // pixels in all, and pixels times heads

const shared = `#version 300 es
precision highp float;
uniform vec4 view; // f, cx, cy
uniform vec3 eye;
uniform vec4 box; // front, back, middle, half
`;

// The same as surface() and falls() in stage-light.js.
const surface = `
struct Surface { vec3 d, normal; float t, albedo; };
Surface surfaceAt(vec2 p) {
  Surface s;
  vec3 d = vec3((p.x - view.y) / view.x, 1., (view.z - p.y) / view.x);
  float n = length(d), t = box.y - eye.y, albedo = ${paint.wall};
  bool wall = true;
  s.normal = vec3(0, -1, 0);
  if (d.z < 0.) {
    float ground = -eye.z / d.z, skirt = box.x - eye.y;
    if (ground < t) {
      wall = false; t = ground; albedo = ${paint.floor}; s.normal = vec3(0, 0, 1);
      if (ground < skirt) {
        t = (${hallFloor} - eye.z) / d.z; albedo = float(${paint.hall});
        if (t > skirt) { t = skirt; albedo = ${paint.skirt}; s.normal = vec3(0, -1, 0); }
      }
    }
  }
  float x = eye.x + t * d.x;
  if (wall) albedo *= .8 + .2 * sin(9. * x + 1.7 * sin(2.3 * x));
  s.albedo = albedo * (1. - .85 * smoothstep(box.w + .6, box.w + 1.6, abs(x - box.z)));
  s.d = d / n;
  s.t = t * n;
  return s;
}`;

const placed = `${shared}
uniform vec2 size;
in vec4 rect;
out vec2 p;
vec2 corner() { return vec2(gl_VertexID & 1, gl_VertexID >> 1); }
void place(vec4 r) { p = mix(r.xy, r.zw, corner()); gl_Position = vec4(p.x / size.x * 2. - 1., 1. - p.y / size.y * 2., 0, 1); }
`;

const programs = {
  ambient: [`${placed}
void main() { place(vec4(0, 0, size)); }`, `${shared}${surface}
uniform vec3 tint;
in vec2 p;
out vec4 o;
void main() { o = vec4(tint * surfaceAt(p).albedo, 1); }`],

  light: [`${placed}
in vec4 from, aim, colour;
flat out vec4 f, a, c;
void main() { f = from; a = aim; c = colour; place(rect); }`, `${shared}${surface}
uniform float haze;
in vec2 p;
flat in vec4 f, a, c; // place and throw squared, direction and cosine, colour and how well its beam is seen
out vec4 o;
void main() {
  Surface s = surfaceAt(p);
  vec3 r = eye + s.t * s.d - f.xyz;
  float far2 = dot(r, r), far = sqrt(far2), tangent = sqrt(1. - a.w * a.w) / a.w;
  float spot = smoothstep(a.w, 1. + (a.w - 1.) * .12, dot(r, a.xyz) / far);
  float light = s.albedo * spot * max(0., -dot(r, s.normal) / far) * min(4., f.w / far2);
  vec3 w = eye - f.xyz;
  float b = dot(s.d, a.xyz), e = dot(w, a.xyz);
  float t = clamp((b * e - dot(s.d, w)) / max(.02, 1. - b * b), 0., s.t), along = e + b * t;
  if (along > 0.) {
    vec3 off = w + t * s.d - along * a.xyz;
    float wide = along * tangent + .08, q = 1. - dot(off, off) / (wide * wide);
    if (q > 0.) light += haze * q * q * ${paint.beam} * c.w / (along * tangent + .12);
  }
  o = vec4(c.rgb * light, 0);
}`],

  glow: [`${placed}
in vec4 from, colour; // of a spot: centre and radius
flat out vec4 f, c;
void main() { f = from; c = colour; place(vec4(f.xy - f.z, f.xy + f.z)); }`, `#version 300 es
precision highp float;
in vec2 p;
flat in vec4 f, c;
out vec4 o;
void main() {
  float q = max(0., 1. - length(p - f.xy) / f.z), cover = c.a * q * q;
  o = vec4(c.rgb * cover, cover);
}`],

  clip: [`#version 300 es
void main() { gl_Position = vec4(gl_VertexID & 1, gl_VertexID >> 1, .5, .5) * 4. - 1.; }`, `#version 300 es
precision highp float;
uniform sampler2D sum;
out vec4 o;
void main() {
  vec3 c = texelFetch(sum, ivec2(gl_FragCoord.xy), 0).rgb;
  float top = max(c.r, max(c.g, c.b));
  if (top > ${knee}) c *= (${knee} + ${1 - knee} * (1. - exp((${knee} - top) / ${1 - knee}))) / top;
  c = mix(12.92 * c, 1.055 * pow(max(c, 1e-6), vec3(1. / 2.4)) - .055, step(.0031308, c));
  float grain = fract(52.9829189 * fract(dot(gl_FragCoord.xy, vec2(.06711056, .00583715)))) - .5; // against bands
  o = vec4(c + grain / 255., 1);
}`],
};

const attributes = ["rect", "from", "aim", "colour"], floats = 16;

export class GLPainter {
  /** Null where the browser has no WebGL2 that adds up half floats, or only one that
   *  the processor plays. lost() is called when the context goes, restored() when it
   *  can be made again. */
  static make(lost, restored) {
    const canvas = document.createElement("canvas");
    const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, depth: false, powerPreference: "low-power" });
    if (!gl || !(gl.getExtension("EXT_color_buffer_float") || gl.getExtension("EXT_color_buffer_half_float"))) return null;
    const info = gl.getExtension("WEBGL_debug_renderer_info");
    if (info && /swiftshader|llvmpipe|softpipe|software|basic render/i.test(gl.getParameter(info.UNMASKED_RENDERER_WEBGL))) return null;
    canvas.addEventListener("webglcontextlost", (e) => { e.preventDefault(); lost(); });
    canvas.addEventListener("webglcontextrestored", restored);
    try { return new GLPainter(canvas, gl); } catch { return null; }
  }

  constructor(canvas, gl) {
    this.canvas = canvas;
    this.gl = gl;
    this.name = "webgl2";
    this.buffer = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, this.buffer);
    attributes.forEach((_, i) => {
      gl.enableVertexAttribArray(i);
      gl.vertexAttribPointer(i, 4, gl.FLOAT, false, floats * 4, i * 16);
      gl.vertexAttribDivisor(i, 1);
    });
    this.programs = {};
    for (const [name, [vertex, fragment]] of Object.entries(programs)) this.programs[name] = link(gl, vertex, fragment);
    this.target = gl.createFramebuffer();
  }

  fit(space) {
    const gl = this.gl, n = space.lamps.length;
    const most = Math.min(budget, share / n, space.w * space.h * Math.min(2, devicePixelRatio || 1));
    const scale = Math.sqrt(most / (space.w * space.h));
    this.canvas.width = Math.max(1, Math.round(space.w * scale));
    this.canvas.height = Math.max(1, Math.round(space.h * scale));
    this.space = space;
    this.data = new Float32Array(n * floats);
    this.rects = space.lamps.map((l) => space.reach(l));
    gl.deleteTexture(this.texture);
    this.texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, this.texture);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA16F, this.canvas.width, this.canvas.height);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, this.texture, 0);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    for (const p of Object.values(this.programs)) {
      gl.useProgram(p.program);
      gl.uniform4f(p.at("view"), space.f, space.cx, space.cy, 0);
      gl.uniform3f(p.at("eye"), ...space.eye);
      gl.uniform4f(p.at("box"), space.front, space.back, space.middle, space.half);
      gl.uniform2f(p.at("size"), space.w, space.h);
    }
  }

  /** A lamp points elsewhere. */
  moved(i) { this.rects[i] = this.space.reach(this.space.lamps[i]); }

  paint({ light, haze, ambient, halos }) {
    const gl = this.gl;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
    gl.disable(gl.BLEND);
    let p = this.use("ambient");
    gl.uniform3f(p.at("tint"), ...ambient);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, 1);
    gl.enable(gl.BLEND);
    p = this.use("light");
    gl.uniform1f(p.at("haze"), haziness(haze));
    gl.blendFunc(gl.ONE, gl.ONE);
    const power = gain(this.space.lamps.length);
    this.instances((write) => this.space.lamps.forEach((l, i) => {
      const [r, g, b] = [light[3 * i], light[3 * i + 1], light[3 * i + 2]];
      if (r + g + b > 0 && !l.house) write(this.rects[i], [...l.at, l.throw2], [...l.aim, l.cos], [r * power, g * power, b * power, l.seen]);
    }));
    this.use("glow");
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    this.instances((write) => { for (const h of halos) write([0, 0, 0, 0], [h.x, h.y, h.radius, 0], [0, 0, 0, 0], [...h.colour, h.cover]); });
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.disable(gl.BLEND);
    this.use("clip");
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, 1);
  }

  use(name) {
    this.gl.useProgram(this.programs[name].program);
    return this.programs[name];
  }

  instances(fill) {
    const gl = this.gl;
    let n = 0;
    fill((...vectors) => { vectors.forEach((v, k) => this.data.set(v, n * floats + 4 * k)); n++; });
    if (!n) return;
    gl.bufferData(gl.ARRAY_BUFFER, this.data.subarray(0, n * floats), gl.DYNAMIC_DRAW);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, n);
  }
}

function link(gl, vertex, fragment) {
  const program = gl.createProgram(), known = new Map();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  attributes.forEach((name, i) => gl.bindAttribLocation(program, i, name));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
  return {
    program,
    at(name) {
      if (!known.has(name)) known.set(name, gl.getUniformLocation(program, name));
      return known.get(name);
    },
  };
}
