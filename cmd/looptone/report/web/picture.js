"use strict";

// Picture is the traffic over time: the whole above, the period that is shown below, in
// lanes of single messages or, where that would be too much, in steps.
class Picture {
  constructor(traffic, period, opened) {
    [this.traffic, this.period, this.opened] = [traffic, period, opened];
    const element = (id) => document.getElementById(id);
    [this.laneCanvas, this.stepCanvas, this.said] = [element("lanes"), element("steps"), element("shown")];
    this.whole = new Overview(element("overview"), traffic);
    this.steps = new Overview(this.stepCanvas, traffic);
    this.lanes = new Lanes(this.laneCanvas, { stations: traffic.stations });
    if (traffic.untimed) this.lanes.setTimers({ slave_time_out: 0 }); // nothing can be timed
    this.lanes.setTraffic(traffic.carriers, traffic.messages.filter((message) => message.hex));
    this.buildWays(element("ways"));
    this.follow(element("overview"), this.whole);
    this.follow(this.stepCanvas, this.steps);
    this.laneCanvas.addEventListener("click", (event) => this.point(event));
    this.laneCanvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    period.on(() => this.ask());
    look.on(() => this.draw()); // at once: paper does not wait for the next picture
    this.ask();
  }

  buildWays(ways) {
    const { period } = this;
    button(ways, "◂ Earlier", () => period.move(-0.5));
    button(ways, "Later ▸", () => period.move(0.5));
    button(ways, "Closer", () => period.zoom(0.5, this.middle()));
    button(ways, "Wider", () => period.zoom(2));
    button(ways, "Everything", () => period.set(period.least, period.most));
    button(ways, "20 seconds", () => period.set(this.middle() - 10, this.middle() + 10));
    button(ways, "2 seconds", () => period.set(this.middle() - 1, this.middle() + 1));
  }

  // middle is what to look closer at: the chosen message, if it is in sight.
  middle() {
    const message = this.opened.message, { from, to } = this.period;
    return message && message.end > from && message.begin < to ? (message.begin + message.end) / 2 : (from + to) / 2;
  }

  // follow lets a period be drawn with the pointer.
  follow(canvas, overview) {
    let began = null;
    canvas.addEventListener("pointerdown", (event) => {
      began = overview.time(event.offsetX);
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (began === null) return;
      const now = overview.time(event.offsetX);
      if (Math.abs(overview.x(now) - overview.x(began)) > 4) this.marked = { from: Math.min(began, now), to: Math.max(began, now) };
      this.ask();
    });
    canvas.addEventListener("pointerup", () => {
      if (began === null) return;
      const { span } = this.period;
      if (this.marked) this.period.set(this.marked.from, this.marked.to);
      else this.period.set(began - span / 2, began + span / 2);
      began = this.marked = null;
      this.ask();
    });
  }

  point(event) {
    const message = this.lanes.message(event.offsetX, event.offsetY);
    if (!message) return;
    this.opened.open(message);
    this.opened.element.scrollIntoView({ block: "nearest" });
  }

  // wheel zooms with Ctrl only, so that the page can be scrolled.
  wheel(event) {
    if (!event.ctrlKey) return;
    event.preventDefault();
    this.period.zoom(event.deltaY > 0 ? 1.25 : 0.8, this.lanes.time(event.offsetX));
  }

  // ask draws before the next picture, however often it is asked.
  ask() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.draw();
    });
  }

  draw() {
    const { period, traffic } = this, single = period.span <= Picture.mostSeconds;
    this.whole.draw(period.least, period.most, this.marked || period);
    this.laneCanvas.hidden = !single;
    this.stepCanvas.hidden = single;
    if (single) this.drawLanes();
    else this.steps.draw(period.from, period.to, this.marked);
    this.say(single ? this.missing() : "");
  }

  drawLanes() {
    const { lanes, period } = this, width = this.laneCanvas.clientWidth;
    const rows = this.traffic.stations.length;
    const each = look.textSize() * (rows <= Picture.mostRoomy ? 3.3 : 1.65); // with room for two lines of text, or one
    const height = Math.ceil(Math.max(lanes.leastHeight(), rows * each + lanes.axisHeight() + 2));
    this.laneCanvas.style.height = `${height}px`;
    lanes.resize(width, height);
    if (lanes.draw({ from: period.from, to: period.to, selected: this.opened.message?.n ?? null })) this.shade();
  }

  // shade marks the times of which not all messages are in the page whole.
  shade() {
    const { lanes, period } = this, pen = lanes.context;
    for (const gap of this.traffic.gaps()) {
      if (gap.to < period.from || gap.from > period.to) continue;
      const left = Math.max(lanes.x(gap.from), lanes.left), right = Math.min(lanes.x(gap.to), lanes.right);
      pen.fillStyle = look.colour("--rule");
      pen.globalAlpha = 0.6;
      pen.fillRect(left, lanes.axis, right - left, lanes.height);
      pen.globalAlpha = 1;
      if (right - left < pen.measureText("only counted").width + 8) continue;
      pen.fillStyle = look.colour("--ink");
      pen.fillText("only counted", left + 4, lanes.axis + look.textSize() * 0.8);
    }
  }

  missing() {
    const { from, to } = this.period;
    const left = this.traffic.gaps().some((gap) => gap.to >= from && gap.from <= to);
    return left ? " Where it is shaded, messages are only counted and not in this page." : "";
  }

  say(missing) {
    const { from, to, span } = this.period;
    const began = this.traffic.clock ? ` Time 0 is ${this.traffic.wall(0)}.` : "";
    const text = `Shown: ${clockText(from)} to ${clockText(to)}, ${span < 7200 ? spanText(span) : `${(span / 3600).toFixed(1)} h`}.${began}${missing}`;
    if (this.said.textContent !== text) this.said.textContent = text;
  }
}

Picture.mostSeconds = 120; // up to which single messages are drawn
Picture.mostRoomy = 16;    // lanes
