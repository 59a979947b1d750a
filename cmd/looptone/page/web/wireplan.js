"use strict";

// WirePlan reckons where everything of the two-wire line goes in a picture of some
// width, in CSS pixels. It draws nothing.
//
// At the left is the room with the supply, the resistor and the hosts. From there the pair
// goes to the right: a stretch of cable, the devices that hang at its end, the next
// stretch. What does not fit goes on in rows below, tapped where the pair was.
class WirePlan {
  // density is one of the densities below; hosts is how many are clipped on where: a Map
  // from "resistor", "supply" or a tag.
  constructor({ loop, devices, hosts, width, rem, density }) {
    Object.assign(this, { loop, devices, hosts, width, rem, density });
    this.wires = [];   // pairs along a row: { x1, x2, row, ends, tapped }; tapped: from a riser
    this.risers = [];  // pairs down from a row to another: { x, from, to }
    this.marks = [];   // where the pair goes on elsewhere: { letter, x, row, below }; and where it does
    this.cables = [];  // { name, length, x1, x2, row }
    this.cells = [];   // { device, x, row }
    this.rows = [];    // { above, hosts, y, card }
    this.cell = density.cell * rem;
    this.roomWidth = Math.max(WirePlan.room, 6.6 + 8 * this.inline().length) * rem;
    this.narrow = width < this.roomWidth + WirePlan.narrow * rem;
    this.left = this.narrow ? 0.2 * rem : this.roomWidth;
    if (this.narrow) this.leaveRoom();
    this.later = [];
    this.lettered = 0;
    this.goOn(this.place(this.tree(), this.left, this.narrow ? 1 : 0));
    this.stack();
  }

  // leaveRoom takes the pair to the row below the room, where there is no room beside it.
  leaveRoom() {
    this.row(0).room = true;
    this.row(1).above = WirePlan.gutter * this.rem;
    this.risers.push({ x: this.roomWidth, from: 0, to: 1, left: this.left });
  }

  // goOn puts what was left for later into rows of its own.
  goOn(last) {
    for (let next = this.later.shift(); next; next = this.later.shift()) {
      this.marks.push({ letter: next.letter, x: this.left, row: last + 1 });
      last = this.stretch(next.node, this.left, last + 1, true, true);
    }
  }

  // inline are the resistances in the upper wire, in the room.
  inline() {
    const { barrier_ohm, series } = this.loop;
    const barrier = barrier_ohm > 0 ? [{ name: "barrier", ohm: barrier_ohm }] : [];
    return [...barrier, ...(series || [])];
  }

  // tree is the supply's end of the pair, with the devices there and the cables behind it.
  tree() {
    const nodes = (this.loop.cables || []).map((cable) => ({ cable, devices: [], behind: [] }));
    const root = { cable: null, devices: [], behind: [] };
    for (const node of nodes) (nodes[node.cable.behind] || root).behind.push(node);
    this.devices.forEach((device, i) => (nodes[device.behind] || root).devices.push(i));
    return root;
  }

  row(n) { return (this.rows[n] ||= { above: 0, hosts: 0 }); }

  // place puts the devices of a node beginning at x in a row, then what is behind it. It
  // returns the last row that was used.
  place(node, x, row) {
    const [behind, later] = this.part(node, x);
    const down = behind.length > 1 || !this.fits(node, x + this.taps(false));
    const begins = this.narrow && row === 1 && x === this.left; // where the pair comes down from the room
    const from = x + this.taps(down || begins) + later.length * WirePlan.mark * this.rem;
    const perRow = Math.max(1, Math.floor((this.width - from) / this.cell));
    const rows = Math.max(1, Math.ceil(node.devices.length / perRow));
    this.leave(later, x + this.taps(down || begins), row);
    this.hang(node.devices, from, row, perRow);
    for (let r = 0; r < rows; r++) {
      const held = Math.min(perRow, node.devices.length - r * perRow);
      this.row(row + r);
      this.wires.push({ x1: x, x2: from + held * this.cell, row: row + r, ends: true, tapped: r > 0 || begins });
    }
    if (rows > 1) this.risers.push({ x, from: row, to: row + rows - 1 });
    const end = from + node.devices.length * this.cell;
    const straight = rows === 1 ? this.straight(behind, end) : null;
    const last = straight ? this.stretch(straight, end, row, false) : row + rows - 1;
    return this.branch(behind, x, row, last);
  }

  // part tells what behind a node has room at its place, and what is left for later.
  part(node, x) {
    const here = node.behind.filter((next) => this.goesOn(next, x + this.taps(true)));
    return [here, node.behind.filter((next) => !here.includes(next))];
  }

  // leave marks where the pair goes on in a row further down.
  leave(nodes, x, row) {
    nodes.forEach((node, i) => {
      const letter = String.fromCharCode(65 + this.lettered++ % 26);
      this.later.push({ node, letter });
      this.marks.push({ letter, x: x + i * WirePlan.mark * this.rem, row, below: true });
    });
  }

  // fits tells whether the devices of a node, and what is behind it, find place in the row.
  fits(node, x) {
    const end = x + node.devices.length * this.cell;
    return end <= this.width && node.behind.every((next) => this.goesOn(next, end));
  }

  hang(devices, from, row, perRow) {
    devices.forEach((device, i) => {
      this.cells.push({ device, x: from + (i % perRow) * this.cell, row: row + Math.floor(i / perRow) });
    });
  }

  // goesOn tells whether a cable and something at its end find place in the row.
  goesOn(node, x) {
    const held = Math.max(1, Math.min(2, node.devices.length)) * this.cell;
    const marks = node.behind.length * WirePlan.mark * this.rem;
    return x + this.taps(false) + this.length(node.cable) + this.taps(true) + marks + held <= this.width;
  }

  // straight takes out of what is behind a node the cable that goes on in the same row: the
  // one with most behind it, if there is room.
  straight(behind, x) {
    if (!behind.length) return null;
    const weight = (node) => node.devices.length + node.behind.reduce((sum, next) => sum + weight(next), 0);
    const most = behind.reduce((a, b) => (weight(b) > weight(a) ? b : a));
    if (!this.goesOn(most, x)) return null;
    behind.splice(behind.indexOf(most), 1);
    return most;
  }

  // branch puts the cables that leave a node below it, each in a row of its own.
  branch(behind, x, row, last) {
    for (const node of behind) {
      this.risers.push({ x, from: row, to: last + 1 });
      last = this.stretch(node, x, last + 1, true);
    }
    return last;
  }

  // stretch puts a cable along a row, and at its end what hangs there.
  stretch(node, x, row, tapped, marked = false) {
    const x1 = x + this.taps(tapped);
    const x2 = x1 + this.length(node.cable);
    this.row(row);
    this.cables.push({ name: node.cable.name, length: node.cable.length_m, x1, x2, row });
    this.wires.push(marked ? { x1: x + WirePlan.mark * this.rem * 0.8, x2, row } : { x1: x, x2, row, tapped });
    return this.place(node, x2, row);
  }

  // taps is what a pair wants before anything hangs on it: more where a riser leaves it.
  taps(riser) { return (riser ? WirePlan.tap : 0.4) * this.rem; }

  // length is how long a cable is in the picture: as long as its name wants.
  length(cable) { return Math.max(3.5, WirePlan.cableText(cable).length * 0.56 + 0.6) * this.rem; }

  static cableText({ name, length_m }) {
    return `${shortened(name, 14)} ${Math.round(length_m)} m`;
  }

  // stack gives every row its height, hosts that are clipped to devices included.
  stack() {
    const { rem, density } = this;
    for (const cell of this.cells) {
      const row = this.row(cell.row);
      row.hosts = Math.max(row.hosts, this.hostsAt(this.devices[cell.device].tag));
    }
    const named = this.cables.length || this.inline().length; // above the wires
    let y = 0;
    for (const [n, row] of this.rows.entries()) {
      const below = this.narrow && n === 1; // the room, with hosts down to its end
      row.y = y + row.above + (named || below ? WirePlan.free : density.free) * rem;
      row.card = row.y + (WirePlan.apart + density.leads) * rem;
      y = row.room ? row.y + this.roomHeight() : row.card + (density.card + row.hosts * WirePlan.chip + density.gap) * rem;
    }
    this.top = this.rows[0].y;
    this.height = Math.max(y, this.top + this.roomHeight());
  }

  // roomHeight is from the upper wire down to below the hosts.
  roomHeight() {
    const atSupply = this.hostsAt("supply");
    const hosts = Math.max(this.hostsAt("resistor"), atSupply && atSupply + 0.4);
    return (4.6 + hosts * WirePlan.chip) * this.rem;
  }

  hostsAt(place) { return this.hosts.get(place) || 0; }

  // best is the plan with the most said about each device that is not too high.
  static best(what, limit) {
    let plan;
    for (const density of WirePlan.densities) {
      plan = new WirePlan({ ...what, density });
      if (plan.height <= limit) break;
    }
    return plan;
  }
}

// In root font sizes.
WirePlan.room = 18.8;  // width of the control room
WirePlan.narrow = 36;  // less beside the room, and the room is above the devices
WirePlan.mark = 1.6;   // a mark where the pair goes on elsewhere
WirePlan.apart = 0.9;  // from wire to wire
WirePlan.tap = 1.9;    // where the pair goes down to other rows
WirePlan.gutter = 1.6; // above the first row below the room
WirePlan.free = 1.5;   // above wires with names, and below the room
WirePlan.chip = 2;     // a host with its clips

// From the most that is said about a device to the least: how wide and how high one is,
// how long its leads are, and what is free above the wires.
WirePlan.densities = [
  { name: "full", cell: 13, card: 4.9, leads: 0.75, free: 0.5, gap: 0.35 },
  { name: "full", cell: 11, card: 4.9, leads: 0.75, free: 0.5, gap: 0.35 },
  { name: "short", cell: 9.8, card: 3.3, leads: 0.7, free: 0.5, gap: 0.35 },
  { name: "tiny", cell: 6.9, card: 2.75, leads: 0.4, free: 0.2, gap: 0.25 },
];

// shortened is a text with at most so many letters.
function shortened(text, most) { return text.length > most ? `${text.slice(0, most - 1)}…` : text; }
