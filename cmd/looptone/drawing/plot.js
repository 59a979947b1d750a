"use strict";

// Plot is the paper of a drawing with two axes: sizes, round numbers along the sides, and
// the way from values to pixels. Who draws on it calls begin first.
class Plot {
  constructor(canvas) {
    this.canvas = canvas;
    this.pen = canvas.getContext("2d");
  }

  // begin takes the size that the page gives the canvas, clears it, and draws the axes.
  // x and y are { from, to, unit }: y.step for marks so far apart or y.at for marks there,
  // x.clock for line time, x.bare without numbers below.
  // ok is false where there is no room, as long as the canvas is hidden.
  begin(x, y, head = 0) {
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (width < 40 || height < 20) return false;
    this.resize(width, height);
    this.text = look.textSize();
    this.pen.font = look.font();
    this.pen.textBaseline = "middle";
    const most = Math.max(3, Math.floor(height / (this.text * 3)));
    this.y = { ...y, marks: y.at ? y.at.map((at) => ({ at, text: String(at) })) : axisMarks(y.from, y.to, most, y.step) };
    this.place(x, width, height, head);
    this.rule();
    return true;
  }

  resize(width, height) {
    const sharp = devicePixelRatio || 1;
    const [w, h] = [Math.round(width * sharp), Math.round(height * sharp)];
    if (this.canvas.width !== w || this.canvas.height !== h) [this.canvas.width, this.canvas.height] = [w, h];
    this.pen.setTransform(sharp, 0, 0, sharp, 0, 0);
    this.pen.clearRect(0, 0, width, height);
  }

  // place leaves room for the numbers: as wide as the widest of them, or of all plots
  // that stand below each other.
  place(x, width, height, head) {
    const widest = Math.max(...this.y.marks.map((m) => this.pen.measureText(m.text).width));
    this.left = Math.max(widest, this.least || 0) + this.text * 0.6;
    this.right = width - this.text * 0.8;
    this.top = this.text * (0.8 + 1.4 * head);
    this.bottom = height - this.text * (x.bare ? 0.6 : 1.9);
    const each = x.clock ? 7.5 : 5;
    const most = Math.max(1, Math.floor((this.right - this.left) / (this.text * each)));
    this.x = { ...x, marks: x.clock ? clockMarks(x.from, x.to, most) : axisMarks(x.from, x.to, most) };
  }

  px(x) { return this.left + (x - this.x.from) / (this.x.to - this.x.from) * (this.right - this.left); }
  py(y) { return this.bottom - (y - this.y.from) / (this.y.to - this.y.from) * (this.bottom - this.top); }

  // atX is the value at a pixel.
  atX(pixel) { return this.x.from + (pixel - this.left) / (this.right - this.left) * (this.x.to - this.x.from); }

  rule() {
    const pen = this.pen;
    pen.lineWidth = 1;
    pen.strokeStyle = look.colour("--rule");
    for (const m of this.y.marks) this.line(this.left, this.py(m.at), this.right, this.py(m.at));
    for (const m of this.x.marks) this.line(this.px(m.at), this.top, this.px(m.at), this.bottom);
    pen.strokeStyle = look.colour("--edge");
    this.line(this.left, this.top, this.left, this.bottom);
    this.line(this.left, this.bottom, this.right, this.bottom);
    this.number();
  }

  // number writes the numbers, the unit behind the last one below.
  number() {
    const pen = this.pen;
    pen.fillStyle = look.colour("--quiet");
    pen.textAlign = "right";
    for (const m of this.y.marks) pen.fillText(m.text, this.left - this.text * 0.4, this.py(m.at));
    if (this.x.bare) return;
    const y = this.bottom + this.text * 1.15;
    const unit = this.x.unit || "";
    const end = this.right + this.text * 0.7;
    pen.fillText(unit, end, y);
    const room = unit ? end - pen.measureText(unit).width - this.text * 0.5 : end;
    pen.textAlign = "center";
    for (const m of this.x.marks) {
      const half = pen.measureText(m.text).width / 2;
      if (this.px(m.at) + half <= room && this.px(m.at) - half >= 0) pen.fillText(m.text, this.px(m.at), y);
    }
  }

  line(x1, y1, x2, y2) {
    this.pen.beginPath();
    this.pen.moveTo(x1, y1);
    this.pen.lineTo(x2, y2);
    this.pen.stroke();
  }

  // inside has f draw where the axes have room only.
  inside(f) {
    const pen = this.pen;
    pen.save();
    pen.beginPath();
    pen.rect(this.left, this.top - 2, this.right - this.left + 3, this.bottom - this.top + 4);
    pen.clip();
    f(pen);
    pen.restore();
  }

  // paper puts a text on paper of its own, so that lines do not run through it; x and y
  // are its left end and its middle. It gives the room that it takes.
  paper(text, x, y, colour) {
    const pen = this.pen;
    const box = this.box(text, x, y);
    pen.textAlign = "left";
    pen.fillStyle = look.colour("--sheet");
    pen.fillRect(box.x, box.y, box.w, box.h);
    pen.fillStyle = look.colour(colour);
    pen.fillText(text, x, y);
    return box;
  }

  box(text, x, y) {
    const w = this.pen.measureText(text).width;
    return { x: x - 2, y: y - this.text * 0.65, w: w + 4, h: this.text * 1.3 };
  }
}

// axisMarks are round numbers from one end of an axis to the other, at most so many parts.
function axisMarks(from, to, most, step = roundStep((to - from) / most)) {
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return marksBy(from, to, step, (at) => numberText(Math.abs(at) < step / 1e6 ? 0 : at, decimals));
}

// clockMarks are round times of the line.
function clockMarks(from, to, most) {
  const step = timeStep((to - from) / most);
  return marksBy(from, to, step, (at) => clockText(at, step < 1 ? 1 : 0));
}

function marksBy(from, to, step, text) {
  const list = [];
  for (let n = Math.ceil(from / step - 1e-9); n * step <= to + step * 1e-9 && list.length < 100; n++) {
    list.push({ at: n * step, text: text(n * step) });
  }
  return list;
}

// roundAxis widens what is shown to round numbers, so that an axis begins and ends with one:
// { from, to, step } of at most so many parts, the ends at least so far apart.
function roundAxis(lower, upper, least, most = 4) {
  if (!(lower <= upper)) return { from: 0, to: least || 1 };
  const short = Math.max(0, (least || Math.abs(upper) * 0.02 || 1) - (upper - lower));
  const [low, high] = [lower - short / 2, upper + short / 2];
  for (let step = roundStep((high - low) / most); ; step = roundStep(step * 1.01)) {
    const from = Math.floor(low / step + 1e-9) * step, to = Math.ceil(high / step - 1e-9) * step;
    if (to - from <= step * (Math.max(most, 2) + 1e-9)) return { from, to, step };
  }
}

// figureText is a measured value with about four figures; a dash for none.
function figureText(v) {
  if (v === null || v === undefined || !Number.isFinite(v)) return "–";
  const size = Math.abs(v);
  return numberText(v, size >= 10000 ? 0 : size >= 1000 ? 1 : size >= 1 || size === 0 ? 2 : 3);
}
