"use strict";

// WireDrawing draws a WirePlan as SVG: everything that does not change while the line runs.
class WireDrawing {
  constructor(element, plan) {
    [this.element, this.plan] = [element, plan];
    this.rem = plan.rem;
    this.apart = WirePlan.apart * plan.rem;
    this.waves = [];
  }

  draw() {
    const { plan } = this;
    const size = { width: plan.width, height: Math.ceil(plan.height) };
    setAll(this.element, { ...size, viewBox: `0 0 ${size.width} ${size.height}` });
    this.element.replaceChildren();
    for (const cable of plan.cables) this.cable(cable);
    for (const wire of plan.wires) this.wire(wire);
    for (const riser of plan.risers) this.riser(riser);
    for (const wire of plan.wires) this.joints(wire);
    this.circuit();
    this.wave = this.add("path", { class: "wave", d: this.waves.join(" ") });
    this.room();
    for (const cell of plan.cells) this.stub(cell);
    for (const mark of plan.marks) this.mark(mark);
  }

  add(name, attributes, text) {
    const element = svg(name, attributes);
    if (text !== undefined) element.textContent = text;
    this.element.append(element);
    return element;
  }

  // lead is a wire; over: it passes over others without touching them.
  lead(points, over = false) {
    const d = `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
    if (over) this.add("path", { class: "over", d });
    this.add("path", { class: "lead", d });
  }

  joint(x, y) { this.add("circle", { class: "joint", cx: x, cy: y, r: 0.2 * this.rem }); }

  // cable is the sheath around the pair, with its name and length.
  cable({ name, length, x1, x2, row }) {
    const y = this.plan.rows[row].y;
    this.add("rect", { class: "sheath", x: x1, y: y - 0.35 * this.rem, width: x2 - x1, height: this.apart + 0.7 * this.rem, rx: 0.45 * this.rem });
    const label = this.add("text", { class: "cable", x: (x1 + x2) / 2, y: y - 0.55 * this.rem }, WirePlan.cableText({ name, length_m: length }));
    label.append(svg("title", {}, `${name}, ${length} m`));
  }

  // wire is a stretch of the pair along a row.
  wire({ x1, x2, row, ends, tapped }) {
    const { y } = this.plan.rows[row];
    const first = tapped ? this.tap(x1) : [x1, x1];
    const last = ends ? this.lastTerminal(row, x1, x2, first) : [x2, x2];
    this.lead([[first[0], y], [last[0], y]]);
    this.lead([[first[1], y + this.apart], [last[1], y + this.apart]]);
    this.waves.push(this.sine(first[0], Math.max(...last), y + this.apart / 2));
  }

  // joints are where a row leaves a riser that goes on.
  joints({ x1, row, tapped }) {
    if (!tapped || !this.plan.risers.some((r) => r.x === x1 && r.from < row && r.to > row)) return;
    const { y } = this.plan.rows[row];
    this.joint(this.tap(x1)[0], y);
    this.joint(this.tap(x1)[1], y + this.apart);
  }

  // tap is where the upper and the lower wire of a riser run.
  tap(x) { return [x + 0.45 * this.rem + this.apart, x + 0.45 * this.rem]; }

  // lastTerminal is where the two wires of a row end: at the last device, or where the pair
  // goes on elsewhere, unless another stretch begins there.
  lastTerminal(row, x1, x2, first) {
    if (this.plan.wires.some((w) => w.row === row && w.x1 === x2 && w.x2 > x2)) return [x2, x2];
    const here = (thing) => thing.row === row && thing.x >= x1 && thing.x < x2;
    const last = this.plan.cells.filter(here).at(-1);
    if (last) return this.terminals(last);
    const mark = this.plan.marks.filter((m) => m.below && here(m)).at(-1);
    return mark ? [mark.x + this.rem, mark.x + 0.4 * this.rem] : first;
  }

  terminals({ x }) {
    const width = this.plan.cell - 0.5 * this.rem;
    return [x + 0.28 * width, x + 0.72 * width];
  }

  // riser is the pair going down from a row to another one. Its upper wire is the right one.
  riser({ x, from, to, left }) {
    const { rows } = this.plan;
    const [plus, minus] = this.tap(x);
    const start = rows[from].y;
    const end = rows[to].y;
    if (left !== undefined) {
      this.wrap(plus, minus, start, end, this.tap(left));
    } else {
      this.lead([[plus, start], [plus, end]], true);
      this.lead([[minus, start + this.apart], [minus, end + this.apart]]);
      this.waves.push(this.sineDown(minus + this.apart / 2, start + this.apart, end));
    }
    this.joint(plus, start);
    this.joint(minus, start + this.apart);
  }

  // wrap takes the pair from the room to the left of the row below.
  wrap(plus, minus, start, end, to) {
    const gutter = end - (WirePlan.gutter + 1.2) * this.rem;
    this.lead([[plus, start], [plus, gutter + this.apart], [to[0], gutter + this.apart], [to[0], end]], true);
    this.lead([[minus, start + this.apart], [minus, gutter], [to[1], gutter], [to[1], end + this.apart]], true);
    this.waves.push(this.sine(to[0], minus, gutter + this.apart / 2));
  }

  // mark is where the pair goes on elsewhere, or comes from elsewhere: a letter in a ring.
  mark({ letter, x, row, below }) {
    const { y, card } = this.plan.rows[row];
    const [cx, cy] = [x + 0.7 * this.rem, below ? card + 0.5 * this.rem : y + this.apart / 2];
    if (below) {
      this.lead([[cx + 0.3 * this.rem, y], [cx + 0.3 * this.rem, cy]], true);
      this.lead([[cx - 0.3 * this.rem, y + this.apart], [cx - 0.3 * this.rem, cy]]);
      this.joint(cx + 0.3 * this.rem, y);
      this.joint(cx - 0.3 * this.rem, y + this.apart);
    }
    this.add("circle", { class: "mark-ring", cx, cy, r: 0.68 * this.rem });
    this.add("text", { class: "mark-letter", x: cx, y: cy + 0.34 * this.rem }, letter);
  }

  // stub is how a device hangs on the pair, and how hosts are clipped onto it.
  stub(cell) {
    const { plan } = this;
    const { y, card } = plan.rows[cell.row];
    const [plus, minus] = this.terminals(cell);
    this.lead([[plus, y], [plus, card]], true);
    this.lead([[minus, y + this.apart], [minus, card]]);
    this.joint(plus, y);
    this.joint(minus, y + this.apart);
    const hosts = plan.hostsAt(plan.devices[cell.device].tag);
    if (hosts) this.clips(cell.x + 0.4 * this.rem, cell.x + plan.cell - 0.9 * this.rem, card + plan.density.card * this.rem, hosts, 0.35);
  }

  // clips are the leads on both sides of hosts that are clipped on.
  clips(x1, x2, y, hosts, above) {
    const down = y + (above + (hosts - 1) * WirePlan.chip + 0.8) * this.rem;
    for (const x of [x1, x2]) {
      this.add("path", { class: "clip", d: `M${x} ${y}V${down}` });
      this.add("circle", { class: "clip", cx: x, cy: y, r: 0.22 * this.rem });
    }
  }

  // circuit is the wire from the supply through the resistor and back to the pair.
  circuit() {
    const { plan, rem } = this;
    const y = plan.top;
    const right = plan.roomWidth;
    const below = y + WireDrawing.return * rem;
    const [plus, minus] = plan.narrow ? this.tap(right) : [right, right];
    this.lead([[5.5 * rem, y], [plus, y]]);
    this.lead([[5.5 * rem, below], [right - 0.8 * rem, below], [right - 0.8 * rem, y + this.apart], [minus, y + this.apart]]);
    this.waves.push(this.sine(6 * rem, right, y + this.apart / 2));
  }

  // room is what stands in the control room: supply, what is in the upper wire, resistor,
  // the clips of hosts.
  room() {
    const { plan, rem } = this;
    const y = plan.top;
    const below = y + WireDrawing.return * rem;
    this.add("rect", { class: "supply", x: 0.1 * rem, y: y - 0.45 * rem, width: 5.4 * rem, height: 4.6 * rem, rx: 0.5 * rem });
    this.add("text", { class: "name", x: 0.7 * rem, y: y + 1.5 * rem }, "supply");
    this.add("text", { class: "supply-v", x: 0.7 * rem, y: y + 2.9 * rem });
    this.add("text", { class: "sign", x: 5 * rem, y: y + 0.35 * rem }, "+");
    this.add("text", { class: "sign", x: 5 * rem, y: below + 0.3 * rem }, "−");
    plan.inline().forEach((part, i) => this.inline(part, (6.4 + 8 * i) * rem, y));
    this.resistor(below);
  }

  inline({ name, ohm }, x, y) {
    const { rem } = this;
    this.add("rect", { class: "part", x, y: y - 0.4 * rem, width: 2.6 * rem, height: 0.8 * rem });
    this.add("text", { class: "name", x, y: y - 0.75 * rem }, `${shortened(name, 10)} ${ohm} Ω`);
  }

  resistor(y) {
    const { plan, rem } = this;
    const ohm = plan.loop.resistor_ohm;
    this.add("rect", { class: "part", x: 8.9 * rem, y: y - 0.62 * rem, width: 6 * rem, height: 1.24 * rem });
    this.add("text", { class: "ohm", x: 11.9 * rem, y: y + 0.35 * rem }, ohm ? `${ohm} Ω` : "resistor");
    this.add("text", { class: "sum", x: 7.6 * rem, y: y - 1.1 * rem });
    this.add("text", { class: "drop", x: 16.4 * rem, y: y - 1.1 * rem });
    const hosts = plan.hostsAt("resistor");
    if (hosts) this.clips(6.9 * rem, 17 * rem, y, hosts, 1.1);
    const supply = plan.hostsAt("supply");
    if (supply) this.clips(0.8 * rem, 4.8 * rem, y + 0.55 * rem, supply, 1.1);
  }

  // sine is a tone on the pair, between its wires.
  sine(x1, x2, y) {
    const half = 0.42 * this.rem;
    let d = `M${x1.toFixed(1)} ${y.toFixed(1)}`;
    for (let x = x1, up = true; x + half <= x2 + 1; x += half, up = !up) {
      d += `q${(half / 2).toFixed(1)} ${(up ? -1 : 1) * (0.5 * this.rem)} ${half.toFixed(1)} 0`;
    }
    return d;
  }

  sineDown(x, y1, y2) {
    const half = 0.42 * this.rem;
    let d = `M${x.toFixed(1)} ${y1.toFixed(1)}`;
    for (let y = y1, up = true; y + half <= y2 + 1; y += half, up = !up) {
      d += `q${(up ? -1 : 1) * (0.5 * this.rem)} ${(half / 2).toFixed(1)} 0 ${half.toFixed(1)}`;
    }
    return d;
  }
}

WireDrawing.return = 3.6; // root font sizes from the upper wire to the one through the resistor
