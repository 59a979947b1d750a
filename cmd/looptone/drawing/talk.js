"use strict";

// Talk is one picture of what is said: it draws carriers, characters, collisions, timers
// and labels into the lanes.
class Talk {
  constructor(lanes, context) {
    this.lanes = lanes;
    this.c = context;
    this.spoken = lanes.spoken;
    this.timers = lanes.spoken.timers;
    this.size = look.textSize();
    this.pad = Math.max(lanes.step * 0.14, 1.5); // between a lane's edge and a carrier
    this.blocks = lanes.scale * this.timers.character >= Talk.leastBlock;
    this.to = Math.min(lanes.to, lanes.now);
    this.collided = new Map(); // n of a carrier → the station that talked at the same time
    this.high = lanes.step >= this.size * 2.1; // labels above, names of timers below
    this.taken = new Map();    // row of a lane → left and right edges of what stands there
  }

  x(time) { return this.lanes.x(time); }

  // seen is the height of a lane that is in sight, undefined else.
  seen(station) {
    const i = this.lanes.lane.get(station);
    if (i === undefined) return undefined;
    const y = this.lanes.laneY(i);
    return y < this.lanes.height && y + this.lanes.step > this.lanes.axis ? y : undefined;
  }

  paintCollisions() {
    const c = this.c, lanes = this.lanes;
    for (const { from, to, carriers } of this.spoken.collisions(lanes.from, this.to)) {
      const y = carriers.map((carrier) => lanes.laneY(lanes.lane.get(carrier.station) ?? 0));
      carriers.forEach((carrier, i) => this.collided.set(carrier.n, carriers[1 - i].station));
      const left = this.x(from), width = Math.max(this.x(Math.min(to, this.to)) - left, 3);
      const top = Math.min(...y), height = Math.max(...y) + lanes.step - top;
      c.fillStyle = look.colour("--trouble-tint");
      c.fillRect(left, top, width, height);
      c.save();
      c.translate(left, top); // so that the hatching moves with it
      c.fillStyle = lanes.hatching;
      c.fillRect(0, 0, width, height);
      c.restore();
    }
  }

  paintCarriers() {
    const [first, last] = this.spoken.carriersIn(this.lanes.from, this.to);
    const painted = new Map(); // lane → right edge, so that what is too dense is painted once
    for (let i = first; i < last; i++) {
      const carrier = this.spoken.carriers[i];
      const y = this.seen(carrier.station);
      if (y === undefined || carrier.off < this.lanes.from) continue;
      const left = this.x(carrier.on), right = Math.max(this.x(Math.min(carrier.off, this.to)), left + 1);
      const marked = carrier.marks?.length || this.spoken.message(carrier)?.kind === "damage";
      if (right <= painted.get(carrier.station) && !marked) continue;
      painted.set(carrier.station, right);
      for (const row of ["head", "foot"]) this.places(y, row).push([left - 2, right + 2]);
      this.paintCarrier(carrier, left, right, y, marked);
    }
  }

  paintCarrier(carrier, left, right, y, marked) {
    const { c, pad } = this, step = this.lanes.step;
    const role = this.spoken.role(carrier, this.lanes.stations[this.lanes.lane.get(carrier.station)]);
    if (right - left > 3) {
      c.fillStyle = look.colour("--carrier-tint");
      c.fillRect(left, y + pad, right - left, step - 2 * pad);
      c.fillStyle = look.colour("--carrier");
      c.fillRect(left, y + pad, right - left, 1);
      c.fillRect(left, y + step - pad - 1, right - left, 1);
      if (this.blocks) this.paintEnds(carrier, left, right, y + pad, step - 2 * pad);
    }
    const inner = pad + Math.max(step * 0.12, 2);
    if (this.blocks) this.paintBlocks(carrier, role, y + inner, step - 2 * inner);
    else this.paintBar(carrier, role, y + inner, step - 2 * inner);
    if (marked) this.paintWrong(carrier, y);
    if (this.spoken.message(carrier)?.n === this.lanes.selected) this.outline(left, right, y);
  }

  // paintEnds closes the band where the carrier goes on and off.
  paintEnds(carrier, left, right, y, height) {
    this.c.fillRect(left, y, 1, height);
    if (carrier.off <= this.to) this.c.fillRect(right - 1, y, 1, height);
  }

  // paintBlocks draws one block a character; of the one that is being sent, what was sent.
  paintBlocks(carrier, role, y, height) {
    const { character } = this.timers, lanes = this.lanes;
    const fill = look.colour(`--${role}`), tint = look.colour(`--${role}-tint`);
    const pauses = carrier.pauses || [];
    let pause = 0, start = carrier.start;
    for (let i = 0; i < carrier.chars; i++, start += character) {
      while (pause < pauses.length && pauses[pause][0] === i) start += pauses[pause++][1];
      if (start > this.to) return;
      if (start + character < lanes.from) continue;
      const left = this.x(start), right = this.x(Math.min(start + character, this.to)) - 1;
      if (carrier.marks?.includes(i)) this.paintMarked(left, right, y, height);
      else this.paintBlock(left, Math.max(right - left, 1), y, height, role, i < carrier.ff ? tint : fill, fill);
    }
  }

  // paintBlock: preambles have an outline only; who talks by himself has lower blocks
  // under a line.
  paintBlock(x, width, y, height, role, inside, edge) {
    const c = this.c;
    if (role === "burst") {
      c.fillStyle = edge;
      c.fillRect(x, y, width + 1, Math.max(height * 0.14, 1));
      [y, height] = [y + height * 0.3, height * 0.7];
    }
    c.fillStyle = edge;
    c.fillRect(x, y, width, height);
    if (inside === edge || width < 3 || height < 3) return;
    c.fillStyle = inside;
    c.fillRect(x + 1, y + 1, width - 2, height - 2);
  }

  // paintMarked is a character that is sent wrongly: hollow and crossed out.
  paintMarked(left, right, y, height) {
    const c = this.c;
    c.fillStyle = look.colour("--trouble-tint");
    c.fillRect(left, y, right - left, height);
    c.strokeStyle = look.colour("--trouble");
    c.lineWidth = 1.5;
    c.strokeRect(left + 0.75, y + 0.75, Math.max(right - left - 1.5, 1), height - 1.5);
    if (right - left < 5) return;
    c.beginPath();
    c.moveTo(left, y);
    c.lineTo(right, y + height);
    c.moveTo(right, y);
    c.lineTo(left, y + height);
    c.stroke();
  }

  // paintBar merges the blocks, where they would be too narrow: preambles, and the rest.
  paintBar(carrier, role, y, height) {
    const c = this.c, end = Math.min(this.spoken.spoken(carrier), this.to);
    const first = Math.min(carrier.start + carrier.ff * this.timers.character, end);
    const left = this.x(carrier.start), middle = this.x(first), right = Math.max(this.x(end), left + 1);
    if (middle - left >= 2) this.paintBlock(left, middle - left, y, height, role, look.colour(`--${role}-tint`), look.colour(`--${role}`));
    const from = middle - left >= 2 ? middle : left;
    const fill = look.colour(`--${role}`);
    if (right > from) this.paintBlock(from, right - from, y, height, role, fill, fill);
  }

  // paintWrong puts a triangle on a carrier in which something is wrong, so that it can
  // be found from far.
  paintWrong(carrier, y) {
    const c = this.c, edge = Math.max(this.size * 0.4, 4);
    const first = carrier.marks?.length ? carrier.marks[0] + 0.5 : carrier.chars - 0.5;
    const time = carrier.start + first * this.timers.character;
    if (time > this.to) return;
    const x = this.x(time);
    c.fillStyle = look.colour("--trouble");
    c.beginPath();
    c.moveTo(x - edge, y);
    c.lineTo(x + edge, y);
    c.lineTo(x, y + Math.min(edge * 1.4, this.lanes.step / 2));
    c.fill();
  }

  outline(left, right, y) {
    const c = this.c;
    c.strokeStyle = look.colour("--focus");
    c.lineWidth = 3;
    c.strokeRect(left - 3, y + 1.5, right - left + 6, this.lanes.step - 3);
  }

  // paintTimers draws a bracket a timer, to scale, at the lower edge of its lane; then
  // the names, where they do not stand on another bracket.
  paintTimers() {
    const lanes = this.lanes;
    if (lanes.scale * this.timers.slave_time_out < Talk.leastTimer) return;
    const brackets = [];
    for (const timer of this.spoken.running(lanes.from, lanes.to, lanes.now, lanes.stations)) {
      const y = this.seen(timer.station);
      if (y !== undefined && this.worthIt(timer)) brackets.push(this.paintTimer(timer, y));
    }
    for (const bracket of brackets) this.nameTimer(bracket, brackets.filter((other) => other !== bracket && other.y === bracket.y));
  }

  // worthIt leaves out what was over before it could be seen.
  worthIt(timer) {
    return timer.end >= this.lanes.now - 1e-6 || this.x(timer.end) - this.x(timer.start) >= 3;
  }

  paintTimer(timer, y) {
    const c = this.c, step = this.lanes.step;
    const left = this.x(timer.start), right = Math.max(this.x(timer.end), left + 1);
    const lost = timer.kind === "time-out" && timer.over;
    const foot = y + step - (timer.kind === "quiet" || !this.high ? 0.5 : Math.min(step * 0.12, 4) + 1);
    const rise = Math.min(step * 0.3, 6) * (timer.kind === "quiet" ? 0.8 : 1);
    c.fillStyle = look.colour(lost ? "--trouble" : "--timer");
    c.fillRect(left, foot - 2, right - left, lost ? 2 : 1.5);
    c.fillRect(left, foot - rise, 1.5, rise);
    if (timer.over || timer.answered) c.fillRect(right - 1.5, foot - rise, 1.5, rise);
    else this.paintRest(timer, right, foot);
    if (lost) this.paintCross(right, foot - rise);
    return { timer, y, left, right, top: foot - rise, lost };
  }

  // paintRest dots what a running timer has still to go.
  paintRest(timer, right, foot) {
    if (timer.end < this.lanes.now - 1e-6) return;
    const end = this.x(timer.start + timer.full);
    for (let x = right + 2; x < end; x += 6) this.c.fillRect(x, foot - 2, 3, 1.5);
    this.c.fillRect(end - 1, foot - 5, 1.5, 5);
  }

  paintCross(x, y) {
    const c = this.c, edge = Math.max(this.size * 0.25, 3);
    c.strokeStyle = look.colour("--trouble");
    c.lineWidth = 2;
    c.beginPath();
    c.moveTo(x - edge, y - edge);
    c.lineTo(x + edge, y + edge);
    c.moveTo(x + edge, y - edge);
    c.lineTo(x - edge, y + edge);
    c.stroke();
  }

  // nameTimer writes what a bracket is, as long as its place is free.
  nameTimer(bracket, others) {
    const { timer, y, top, lost } = bracket;
    for (const name of Talk.timerNames(timer)) {
      const width = this.lanes.textWidth(name);
      for (const at of this.placesFor(bracket, width)) {
        const end = at + width + 4;
        if (at < this.lanes.left || end > this.lanes.right) continue;
        const within = at >= bracket.left && end <= bracket.right + 4;
        if (others.some((other) => other.left < end && other.right > at && (!within || other.top < top))) continue;
        if (!this.take(y, "foot", at - 3, end)) continue;
        this.c.fillStyle = look.colour(lost ? "--trouble" : "--timer");
        this.c.fillText(name, at, this.high ? top - this.size * 0.4 : y + this.lanes.step / 2);
        return;
      }
    }
  }

  // placesFor is where a name may begin: above its bracket, where that is long enough; of
  // an answer in front of it, of a time-out that has run out behind its cross or in front,
  // of one that still runs above what it has to go.
  placesFor({ timer, left, right, lost }, width) {
    const from = Math.max(left, this.lanes.left), cross = lost ? this.size * 0.5 : 0;
    const inside = width + 6 + cross <= right - from ? [from + 4] : [];
    if (timer.kind !== "time-out") return inside;
    if (lost) return [right + cross, ...inside, left - width - 4];
    return [...inside, timer.answered ? left - width - 4 : from + 4];
  }

  // take keeps a place for something in a row of a lane, its head or its foot. It is false
  // where something else is there already.
  take(y, row, left, right) {
    const rows = this.high ? [row] : ["head", "foot"];
    const free = rows.every((name) => !this.places(y, name).some((place) => place[0] < right && place[1] > left));
    if (free) for (const name of rows) this.places(y, name).push([left, right]);
    return free;
  }

  places(y, row) {
    const lane = `${y} ${row}`;
    let places = this.taken.get(lane);
    if (!places) this.taken.set(lane, places = []);
    return places;
  }

  // paintLabels says beside its blocks what a message is, where there is room before the
  // next one in its lane.
  paintLabels() {
    const [first, last] = this.spoken.carriersIn(this.lanes.from, this.to);
    const next = new Map(); // lane → left edge of what stands there
    for (let i = last - 1; i >= first; i--) {
      const carrier = this.spoken.carriers[i];
      const message = this.spoken.message(carrier);
      const room = next.get(carrier.station) ?? this.lanes.right;
      next.set(carrier.station, this.x(carrier.on));
      const y = this.seen(carrier.station);
      if (y === undefined || carrier.off > this.to || this.continues(carrier, message, i, last)) continue;
      const wrong = !message || message.kind === "damage" || message.kind === "noise";
      this.paintLabel(this.labels(carrier, message), wrong, this.x(carrier.off) + this.size * 0.5, room - this.size * 0.4, y);
    }
  }

  // continues is true where the same message goes on with the next carrier, as what comes
  // in from outside does.
  continues(carrier, message, i, last) {
    if (!message) return false;
    for (let k = i + 1; k < Math.min(last, i + 4); k++) {
      if (this.spoken.message(this.spoken.carriers[k]) === message) return true;
    }
    return false;
  }

  // paintLabel writes the longest that has room, on the ground of the lane.
  paintLabel(labels, wrong, left, right, y) {
    if (right - left < this.size * 2 || left < this.lanes.left) return;
    const text = labels.find((label) => this.lanes.textWidth(label) <= right - left);
    if (!text) return;
    const c = this.c, width = this.lanes.textWidth(text);
    const middle = this.high ? y + this.lanes.step * 0.12 + this.size * 0.6 : y + this.lanes.step / 2;
    for (const row of this.high ? ["head"] : ["head", "foot"]) this.places(y, row).push([left, left + width + 4]);
    c.fillStyle = look.colour("--silence");
    c.fillRect(left - 2, middle - this.size * 0.5, width + 4, this.size);
    c.fillStyle = look.colour(wrong ? "--trouble" : "--ink");
    c.fillText(text, left, middle);
  }

  // labels are what can be said of a carrier and its message, the longest first.
  labels(carrier, message) {
    const other = this.collided.get(carrier.n);
    if (other !== undefined) return [`collides with ${this.nameOf(other)}`, "collision"];
    if (!message) return [];
    const parts = Talk.said(message.sentence).split(/ {2,}/);
    if (message.kind === "damage") return Talk.damaged(message.sentence);
    if (message.kind !== "request") return Talk.shorter(parts.filter((part) => !/^(\[|after )/.test(part)).at(-1) ?? parts[0]);
    const to = this.nameOf(message.to, Talk.addressed(message.sentence));
    return [`→ ${to}  ${parts[0]}`, `→ ${to}`];
  }

  nameOf(station, otherwise = "somebody") {
    return this.lanes.stations[this.lanes.lane.get(station)]?.name ?? otherwise;
  }

  // shorter is what stands beside a reply: its primary variable, or the first that it says.
  static shorter(said) {
    const short = said.replaceAll(/\d+\.\d{3,}/g, (number) => String(Number(Number(number).toPrecision(5))));
    const items = short.split(", ");
    const variable = items.find((item) => item.startsWith("primary variable "));
    return variable ? [variable.slice("primary variable ".length)] : [items.slice(0, 2).join(", "), items[0]];
  }

  // damaged is what was wrong, without the places.
  static damaged(sentence) {
    const reason = sentence.split(": ").find((part) => / at byte \d+ /.test(part));
    return [reason ? `damage: ${reason.replaceAll(/ at byte \d+/g, "")}` : "damage", "damage"];
  }

  // said is a sentence without who says it to whom.
  static said(sentence) {
    const at = sentence.search(/ {2,}/);
    const arrow = sentence.indexOf("→");
    return arrow >= 0 && at > arrow ? sentence.slice(at).trim() : sentence;
  }

  static addressed(sentence) {
    const found = /→ (.+?)(?: {2,}|$)/.exec(sentence);
    return found ? found[1] : "somebody";
  }

  static timerNames(timer) {
    const full = spanText(timer.full), so = spanText(timer.end - timer.start);
    if (timer.kind === "grant") return [`link grant ${full}`, "link grant", "grant"];
    if (timer.kind === "quiet") return [`link quiet ${full}`, "link quiet", "quiet"];
    if (timer.answered) return [`answers after ${so}`, `after ${so}`, so];
    if (timer.over) return [`slave time-out: no answer within ${full}`, `slave time-out ${full}`, "slave time-out", "time-out"];
    return [`slave time-out ${full}`, "slave time-out", "time-out"];
  }
}

Talk.leastBlock = 3.4; // CSS pixels of a character that is drawn alone
Talk.leastTimer = 8;   // CSS pixels of a slave time-out; below, no timer is drawn
