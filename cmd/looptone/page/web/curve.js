"use strict";

// CurveDrawing draws what a stage makes of what it is given, as the transmitter has
// reckoned it, with the working point on it.
class CurveDrawing {
  constructor(canvas) {
    this.plot = new Plot(canvas);
    this.canvas = canvas;
    this.curve = null;
    canvas.setAttribute("role", "img");
    look.on(() => this.draw());
  }

  // show takes a curve of GET /device, what goes in and what comes out now, and the name
  // of the stage.
  show(curve, x, y, name) {
    [this.curve, this.x, this.y, this.name] = [curve, x, y, name];
    this.draw();
  }

  draw() {
    const { curve, plot } = this;
    if (!curve) return;
    this.canvas.setAttribute("aria-label", this.spoken());
    const y = this.heights();
    if (!plot.begin({ from: curve.x.from, to: curve.x.to, unit: curve.x.unit }, { ...y, unit: curve.y.unit }, 1)) return;
    this.labels = [];
    plot.inside((pen) => {
      this.drawUnchanged(pen);
      this.drawMarks(pen);
      this.drawCurve(pen);
    });
    this.drawHead();
    this.drawWorkingPoint();
    this.nameMarks();
  }

  // heights leaves a little room above and below, and more where a level is to be named.
  heights() {
    const { y: { from, to }, marks } = this.curve;
    const named = (at) => marks.some((m) => m.axis === "y" && m.at === at);
    const spare = (at) => (named(at) ? 0.2 : 0.06) * (to - from || 1);
    return { from: from - spare(from), to: to + spare(to) };
  }

  spoken() {
    const { curve } = this;
    if (curve.kind === "step") return `${this.name}: how the value follows a step, in percent of the way over ${curve.x.to} s`;
    const point = isNumber(this.x) ? `; now ${figureText(this.x)} ${curve.x.unit} gives ${figureText(this.y)} ${curve.y.unit}` : "";
    return `${this.name}: what comes out in ${curve.y.unit} over what goes in in ${curve.x.unit}${point}`;
  }

  // unchanged tells whether what comes out could be what goes in.
  get unchanged() { return this.curve.kind === "input" && this.curve.x.unit === this.curve.y.unit; }

  drawUnchanged(pen) {
    if (!this.unchanged) return;
    const { from, to } = this.curve.x;
    pen.strokeStyle = look.colour("--edge");
    pen.lineWidth = 1.2;
    pen.setLineDash([this.plot.text * 0.5, this.plot.text * 0.4]);
    this.plot.line(this.plot.px(from), this.plot.py(from), this.plot.px(to), this.plot.py(to));
    pen.setLineDash([]);
  }

  drawMarks(pen) {
    const { plot } = this;
    pen.strokeStyle = look.colour("--timer");
    pen.lineWidth = 1.2;
    pen.setLineDash([2, plot.text * 0.25]);
    for (const m of this.curve.marks) {
      if (m.axis === "x") plot.line(plot.px(m.at), plot.top, plot.px(m.at), plot.bottom);
      else plot.line(plot.left, plot.py(m.at), plot.right, plot.py(m.at));
    }
    pen.setLineDash([]);
  }

  drawCurve(pen) {
    const { curve, plot } = this;
    const held = curve.holds !== null;
    pen.strokeStyle = pen.fillStyle = look.colour("--device");
    pen.lineWidth = Math.max(2, plot.text * (held ? 0.12 : 0.2));
    pen.lineJoin = "round";
    if (held) pen.setLineDash([plot.text * 0.9, plot.text * 0.5]);
    pen.beginPath();
    for (const [x, y] of curve.points) pen.lineTo(plot.px(x), plot.py(y));
    pen.stroke();
    pen.setLineDash([]);
    if (held) {
      pen.lineWidth = Math.max(2, plot.text * 0.2);
      plot.line(plot.left, plot.py(curve.holds), plot.right, plot.py(curve.holds));
    }
    for (const [x, y] of curve.dots) {
      pen.beginPath();
      pen.arc(plot.px(x), plot.py(y), plot.text * 0.24, 0, 7);
      pen.fill();
    }
  }

  // drawHead says above the picture in which unit it stands, and what the lines are.
  drawHead() {
    const { curve, plot } = this;
    const y = plot.text * 0.75;
    plot.pen.textAlign = "left";
    plot.pen.fillStyle = look.colour("--quiet");
    const side = `${curve.y.name}, ${curve.y.unit}`;
    plot.pen.fillText(side, plot.text * 0.2, y);
    const says = curve.holds !== null ? "dashed: when the current moves" : this.unchanged ? "dashed: unchanged" : "";
    plot.pen.textAlign = "right";
    plot.pen.fillText(says, plot.right, y);
  }

  // drawWorkingPoint shows what goes in and what comes out, and leads to either axis.
  drawWorkingPoint() {
    const { plot, curve } = this;
    if (curve.kind !== "input" || !isNumber(this.x) || !isNumber(this.y)) return;
    const x = plot.px(this.x), y = plot.py(this.y), pen = plot.pen;
    if (x < plot.left - 1 || x > plot.right + 1) return;
    pen.strokeStyle = pen.fillStyle = look.colour("--now");
    pen.lineWidth = 1.5;
    plot.line(x, y, x, plot.bottom);
    plot.line(plot.left, y, x, y);
    pen.beginPath();
    pen.arc(x, y, plot.text * 0.48, 0, 7);
    pen.fill();
    pen.fillStyle = look.colour("--sheet");
    pen.beginPath();
    pen.arc(x, y, plot.text * 0.18, 0, 7);
    pen.fill();
    this.labels.push({ x: x - plot.text, y: y - plot.text * 0.6, w: plot.text * 2, h: plot.text * 1.2 });
  }

  // nameMarks writes what the levels mean, where nothing else stands; else where it hides
  // a line at the most.
  nameMarks() {
    for (const m of this.curve.marks) {
      const places = this.placesOf(m).filter((box) => this.labels.every((other) => !overlap(box, other)));
      const at = places.find((box) => !this.hides(box)) || places[0];
      if (at) this.labels.push(this.plot.paper(m.says, at.x + 2, at.y + at.h / 2, "--timer"));
    }
  }

  // hides reports whether the curve or a level runs through a box.
  hides(box) {
    const { plot, curve } = this;
    const levels = curve.marks.filter((m) => m.axis === "y").map((m) => m.at);
    const within = (y, spare) => y > box.y - spare && y < box.y + box.h + spare;
    if (levels.some((y) => within(plot.py(y), -1))) return true;
    if (curve.holds !== null && within(plot.py(curve.holds), 1.5)) return true; // a thicker line
    return curve.points.some(([x, y], i) => {
      const [x0, y0] = curve.points[Math.max(i - 1, 0)];
      for (let part = 0; part <= 1; part += 0.1) {
        const px = plot.px(x0 + part * (x - x0));
        if (px > box.x - 2 && px < box.x + box.w + 2 && within(plot.py(y0 + part * (y - y0)), 2)) return true;
      }
      return false;
    });
  }

  placesOf(m) {
    const { plot } = this;
    const w = plot.pen.measureText(m.says).width, gap = plot.text * 0.4;
    const across = (share) => plot.left + gap + share * (plot.right - plot.left - w - 2 * gap);
    const places = [];
    if (m.axis === "x") {
      for (const share of [0, 0.15, 0.4, 0.7]) {
        const y = plot.top + plot.text + share * (plot.bottom - plot.top - 2 * plot.text);
        places.push([plot.px(m.at) + gap, y], [plot.px(m.at) - gap - w, y]);
      }
    } else {
      for (const share of [0, 1, 0.5, 0.25, 0.75]) {
        for (const side of [-0.75, 0.75]) places.push([across(share), plot.py(m.at) + side * plot.text]);
      }
    }
    return places.map(([x, y]) => plot.box(m.says, x, y)).filter((box) => box.x >= plot.left && box.x + box.w <= plot.right + 4 && box.y >= plot.top - 0.6 * plot.text && box.y + box.h <= plot.bottom + 2);
  }
}

function overlap(a, b) {
  return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}
