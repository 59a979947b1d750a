"use strict";

// Lanes draws the traffic on a line: a lane a station over line time, a block a character,
// carriers as bands around them, and the timers that run. There are no bytes in it.
//
// The canvas has the size that it is given by resize. Who draws gives the times at both
// edges; nothing is drawn when nothing has changed.
class Lanes {
  constructor(canvas, { stations = [], timers = {} } = {}) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d", { alpha: false });
    this.ground = document.createElement("canvas"); // what does not move: lanes and names
    this.spoken = new Spoken(timers);
    this.widths = new Map();
    [this.width, this.height, this.top, this.selected] = [0, 0, 0, null];
    this.setStations(stations);
    look.on(() => this.stale());
  }

  setStations(stations) {
    this.stations = stations;
    this.lane = new Map(stations.map((station, i) => [station.id, i]));
    this.stale();
  }

  setTraffic(carriers, messages) {
    this.spoken.set(carriers, messages);
    this.stale();
  }

  setTimers(timers) { this.spoken.timers = { ...Spoken.standard, ...timers }; }

  resize(width, height) {
    if (width === this.width && height === this.height && this.ratio === devicePixelRatio) return;
    [this.width, this.height, this.ratio] = [width, height, devicePixelRatio];
    for (const canvas of [this.canvas, this.ground]) {
      canvas.width = Math.max(Math.round(width * this.ratio), 1);
      canvas.height = Math.max(Math.round(height * this.ratio), 1);
    }
    this.stale();
  }

  // scrollTo moves the lanes up, where more of them are there than fit.
  scrollTo(top) {
    if (top !== this.top) this.stale();
    this.top = top;
  }

  stale() { this.drawn = ""; this.laid = false; }

  // leastHeight is what all lanes need to be readable, in CSS pixels.
  leastHeight() { return this.axisHeight() + this.stations.length * Math.ceil(look.textSize() * Lanes.leastLane) + 2; }

  axisHeight() { return Math.ceil(look.textSize() * 1.6); }

  // draw shows the time from one moment to another. What is behind now has not happened
  // yet; word stands at that moment. Without now, all is past.
  draw({ from, to, now = Infinity, word = "", selected = null }) {
    if (this.width < 50 || this.height < 20) return false;
    this.spoken.update();
    if (!this.laid) this.layOut();
    const step = (to - from) / (this.right - this.left) / this.ratio; // seconds a device pixel
    const at = [Math.round(to / step), Math.round(Math.min(now, to + 1) / step)];
    const key = [at, step, word, selected, this.spoken.known, this.spoken.measured, this.spoken.carriers.length].join();
    if (key === this.drawn) return false;
    this.drawn = key;
    this.scale = 1 / step / this.ratio;
    this.to = at[0] * step;
    this.from = this.to - (to - from);
    this.now = now;
    this.selected = selected;
    this.paint(word);
    return true;
  }

  layOut() {
    this.laid = true;
    const size = look.textSize();
    this.axis = this.axisHeight();
    const room = this.height - this.axis - 2;
    const least = Math.ceil(size * Lanes.leastLane);
    this.step = Math.min(Math.max(room / Math.max(this.stations.length, 1), least), size * Lanes.mostLane);
    this.context.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    this.context.font = look.font();
    this.widths.clear();
    const widest = Math.max(...this.stations.map((station) => this.textWidth(this.nameOf(station))), size * 4);
    this.left = Math.ceil(Math.min(widest + size * 2.2, this.width * 0.25));
    this.right = this.width - 1;
    this.hatching = this.hatch();
    this.paintGround();
  }

  nameOf(station) { return station.gone ? `${station.name} (gone)` : station.name; }

  // laneY is the upper edge of a lane.
  laneY(i) { return this.axis + i * this.step - this.top; }

  paintGround() {
    const c = this.ground.getContext("2d", { alpha: false });
    c.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    c.fillStyle = look.colour("--sheet");
    c.fillRect(0, 0, this.width, this.height);
    c.save();
    c.beginPath();
    c.rect(0, this.axis, this.width, this.height - this.axis);
    c.clip();
    c.font = look.font();
    c.textBaseline = "middle";
    this.stations.forEach((station, i) => this.paintName(c, station, this.laneY(i)));
    c.restore();
    c.fillStyle = look.colour("--rule");
    c.fillRect(0, this.axis - 1, this.width, 1);
  }

  paintName(c, station, y) {
    if (y > this.height || y + this.step < 0) return;
    const size = look.textSize(), middle = y + this.step / 2;
    const inset = Math.max(this.step * 0.12, 1);
    c.fillStyle = look.colour("--silence");
    c.fillRect(this.left, y + inset, this.right - this.left, this.step - 2 * inset);
    this.paintKind(c, station.kind, size * 0.8, middle);
    c.fillStyle = look.colour(station.gone ? "--quiet" : "--ink");
    c.fillText(this.fitting(this.nameOf(station), this.left - size * 1.9), size * 1.5, middle + size * 0.05);
  }

  // paintKind is a sign of who it is: round for a device, square for a host, a triangle
  // for a fault.
  paintKind(c, kind, x, y) {
    const half = look.textSize() * 0.31;
    c.fillStyle = look.colour({ device: "--device", fault: "--trouble" }[kind] || "--host");
    c.beginPath();
    if (kind === "device") c.arc(x, y, half, 0, 7);
    else if (kind === "fault") for (const [dx, dy] of [[0, -half], [half, half], [-half, half]]) c.lineTo(x + dx, y + dy);
    else c.rect(x - half, y - half, 2 * half, 2 * half);
    c.fill();
  }

  // fitting is as much of a text as has room, with dots for the rest.
  fitting(text, room) {
    if (this.textWidth(text) <= room) return text;
    let length = text.length;
    while (length > 1 && this.textWidth(`${text.slice(0, length)}…`) > room) length--;
    return `${text.slice(0, length).trimEnd()}…`;
  }

  textWidth(text) {
    let width = this.widths.get(text);
    if (width === undefined) {
      if (this.widths.size > 4000) this.widths.clear();
      width = this.context.measureText(text).width;
      this.widths.set(text, width);
    }
    return width;
  }

  paint(word) {
    const c = this.context;
    c.setTransform(1, 0, 0, 1, 0, 0);
    c.drawImage(this.ground, 0, 0);
    c.setTransform(this.ratio, 0, 0, this.ratio, 0, 0);
    c.font = look.font();
    c.textBaseline = "middle";
    this.paintAxis(c, word);
    c.save();
    c.beginPath();
    c.rect(this.left, this.axis, this.right - this.left, this.height - this.axis);
    c.clip();
    const talk = new Talk(this, c);
    talk.paintCollisions();
    talk.paintCarriers();
    this.paintNow(c);
    talk.paintLabels();
    talk.paintTimers();
    c.restore();
    this.paintWord(c, word);
  }

  // x is where a moment stands, on a whole pixel of the screen.
  x(time) { return Math.round((this.right - (this.to - time) * this.scale) * this.ratio) / this.ratio; }

  paintAxis(c, word) {
    const size = look.textSize();
    const taken = this.now <= this.to ? this.wordAt(word) : { left: Infinity, right: Infinity };
    const step = timeStep(size * 9 / this.scale);
    const digits = step >= 1 ? 0 : Math.min(Math.ceil(-Math.log10(step) - 1e-9), 3);
    c.textAlign = "center";
    for (let k = Math.ceil(this.from / step); k * step <= this.to; k++) {
      const x = this.x(k * step);
      c.fillStyle = look.colour("--rule");
      c.fillRect(x, this.axis - size * 0.25, 1, this.height);
      const text = clockText(k * step, digits), half = this.textWidth(text) / 2;
      if (k < 0 || x - half < this.left || x + half > this.right) continue;
      if (x + half > taken.left && x - half < taken.right) continue;
      c.fillStyle = look.colour("--quiet");
      c.fillText(text, x, this.axis * 0.46);
    }
    c.textAlign = "left";
  }

  paintNow(c) {
    if (!(this.now <= this.to)) return;
    c.fillStyle = look.colour("--now");
    c.fillRect(this.x(this.now) - 1, this.axis, 2, this.height);
  }

  // paintWord writes on the axis what the moment is called.
  paintWord(c, word) {
    if (!(this.now <= this.to)) return;
    const x = this.x(this.now), size = look.textSize();
    c.fillStyle = look.colour("--now");
    c.beginPath();
    c.moveTo(x - size * 0.4, this.axis - size * 0.45);
    c.lineTo(x + size * 0.4, this.axis - size * 0.45);
    c.lineTo(x, this.axis + size * 0.15);
    c.fill();
    if (!word) return;
    const { left, right } = this.wordAt(word);
    c.textAlign = "center";
    c.fillText(word, (left + right) / 2, this.axis * 0.4);
    c.textAlign = "left";
  }

  // wordAt is where the word stands: over its moment, as far as the edge allows.
  wordAt(word) {
    const half = this.textWidth(word) / 2 + look.textSize() * 0.6;
    const middle = Math.min(this.x(this.now), this.right - half);
    return { left: middle - half, right: middle + half };
  }

  // hatch is the pattern of trouble: slanting lines.
  hatch() {
    const tile = document.createElement("canvas"), edge = Math.round(8 * this.ratio);
    tile.width = tile.height = edge;
    const c = tile.getContext("2d");
    c.strokeStyle = look.colour("--trouble");
    c.lineWidth = 1.6 * this.ratio;
    c.beginPath();
    for (const shift of [-edge, 0, edge]) {
      c.moveTo(shift - 1, edge + 1);
      c.lineTo(shift + edge + 1, -1);
    }
    c.stroke();
    const pattern = this.context.createPattern(tile, "repeat");
    pattern.setTransform(new DOMMatrix().scale(1 / this.ratio));
    return pattern;
  }

  // time is the moment at a place.
  time(x) { return this.to - (this.right - x) / this.scale; }

  // station is the one whose lane is at a height; undefined for none.
  station(y) { return y < this.axis ? undefined : this.stations[Math.floor((y - this.axis + this.top) / this.step)]; }

  // named is the station whose name is at a place.
  named(x, y) { return x < this.left ? this.station(y) : undefined; }

  // message is the one at a place, or the nearest within a few pixels in its lane; then
  // whatever was said at that moment.
  message(x, y) {
    if (x < this.left || x > this.right || this.scale === undefined) return undefined;
    const time = this.time(x), near = 6 / this.scale, station = this.station(y);
    let best, distance = Infinity;
    for (const message of this.spoken.messagesIn(time - near, time + near)) {
      if (message.start > this.now || message.kind === "unanswered") continue;
      const away = Math.max(message.start - time, time - message.end, 0);
      const cost = away + (message.from === station?.id ? 0 : near);
      if (away <= near && cost < distance) [best, distance] = [message, cost];
    }
    return best;
  }
}

Lanes.leastLane = 1.08; // times the size of text
Lanes.mostLane = 6;
