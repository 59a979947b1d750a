"use strict";

// Traffic is the part of the page with the lanes: it moves and zooms them, and says the
// same in a list for whoever cannot see them.
class Traffic {
  constructor(store, watch, side) {
    [this.store, this.watch, this.side] = [store, watch, side];
    this.build(document.getElementById("lanes"));
    this.lanes = new Lanes(this.canvas);
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    store.on("hello", (hello) => this.begin(hello));
    store.on("stations", (stations) => this.setStations(stations));
    watch.on("selected", (n) => this.bringIntoSight(n));
    watch.on("frame", (time) => this.draw(time));
    new ResizeObserver(() => this.fit()).observe(this.element);
    look.on(() => this.fit());
    addEventListener("beforeprint", () => this.print(true));
    addEventListener("afterprint", () => this.print(false));
    this.bindPointer();
    this.scroll.addEventListener("keydown", (event) => this.key(event));
    this.scroll.addEventListener("scroll", () => this.lanes.scrollTo(this.scroll.scrollTop));
    setInterval(() => this.tellList(), Traffic.listMS);
  }

  build(element) {
    const make = Strip.make;
    this.scroll = make("div", "traffic-scroll", {
      role: "group", tabindex: "0", "aria-label": "Traffic over line time",
      "aria-description": "Left and right move, up and down zoom, home and end go to the beginning and to now.",
    });
    this.canvas = make("canvas", "traffic-canvas", { role: "img", "aria-label": "A lane for each station over line time. The list behind it says the same." });
    this.sizer = make("div", "traffic-sizer");
    this.sizer.append(this.canvas);
    this.scroll.append(this.sizer);
    this.list = make("ol", "traffic-list", { "aria-label": "Latest messages" });
    this.element = element;
    this.legend = Traffic.legend();
    element.append(this.legend, this.scroll, this.list);
  }

  // legend says what the shapes stand for.
  static legend() {
    const legend = Strip.make("p", "traffic-legend");
    const words = [["character", "a character"], ["preamble", "a preamble"], ["carrier", "carrier"],
      ["burst", "sent unasked"], ["wrong", "sent or heard wrongly"], ["timer", "a time that runs"]];
    for (const [shape, text] of words) {
      const word = Strip.make("span", "traffic-word");
      word.append(Strip.make("span", `traffic-shape traffic-${shape}`, { "aria-hidden": "true" }), text);
      legend.append(word);
    }
    return legend;
  }

  begin(hello) {
    this.lanes.setTimers(hello.timers);
    this.lanes.setTraffic(this.store.carriers, this.store.messages);
    this.setStations(hello.stations);
  }

  setStations(stations) {
    this.lanes.setStations(stations);
    this.fit();
  }

  // print shows all lanes while the page is printed: nobody scrolls on paper.
  print(on) {
    this.printing = on;
    this.lanes.scrollTo(on ? 0 : this.scroll.scrollTop);
    this.fit();
  }

  // fit gives the lanes what room there is; the legend is the first to make some.
  fit() {
    this.legend.hidden = !this.printing && this.lanes.leastHeight() > this.element.clientHeight - look.textSize() * 2;
    const { clientWidth, clientHeight } = this.scroll;
    const all = Math.max(this.lanes.leastHeight(), clientHeight);
    const height = this.printing ? all : clientHeight;
    this.sizer.style.height = `${all}px`;
    this.canvas.style.width = `${clientWidth}px`;
    this.canvas.style.height = `${height}px`;
    this.lanes.resize(clientWidth, height);
    if (this.store.hello) this.draw(this.watch.time()); // a canvas of another size is empty
  }

  // draw leaves some room behind the moment that is shown, for timers that still run.
  // Whoever wants less motion sees it move in steps.
  draw(time) {
    if (this.calm.matches && this.watch.rate > 0) time = Math.floor(time / Traffic.calmStep) * Traffic.calmStep;
    const { span, selected, atEdge } = this.watch;
    const word = atEdge ? "now" : clockText(time);
    const to = time + span * Traffic.ahead;
    this.lanes.draw({ from: to - span, to, now: time, word, selected });
  }

  // bringIntoSight moves to a message that was selected elsewhere.
  bringIntoSight(n) {
    const message = this.store.message(n);
    if (!message) return;
    const { span } = this.watch, time = this.watch.time();
    if (message.end <= time && message.start >= time - span * (1 - Traffic.ahead)) return;
    this.watch.moveTo(Math.max(message.end, Math.min(message.end + span * 0.1, this.store.lineNow() - 1e-3)));
  }

  bindPointer() {
    const canvas = this.canvas;
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    canvas.addEventListener("pointerdown", (event) => this.grip(event));
    canvas.addEventListener("pointermove", (event) => this.drag(event));
    canvas.addEventListener("pointerup", (event) => this.release(event));
    canvas.addEventListener("pointercancel", () => { this.held = null; });
  }

  // wheel zooms around the pointer; to the side, or with shift, it moves. Where there are
  // more lanes than fit it scrolls them, and zooms with ctrl.
  wheel(event) {
    const along = event.shiftKey ? event.deltaX || event.deltaY : event.deltaX;
    const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 30 : 1;
    if (Math.abs(along) > Math.abs(event.shiftKey ? 0 : event.deltaY)) {
      this.watch.back(-along * unit / this.lanes.scale);
    } else if (this.overflows && !event.ctrlKey) {
      return;
    } else {
      this.zoom(1.0015 ** (event.deltaY * unit), event.offsetX);
    }
    event.preventDefault();
  }

  get overflows() { return this.scroll.scrollHeight > this.scroll.clientHeight + 1; }

  zoom(factor, x) {
    const before = this.watch.span, here = this.watch.time(), held = this.lanes.time(x);
    this.watch.setSpan(before * factor);
    if (this.watch.atEdge || held > here) return;
    this.watch.moveTo(held + (here - held) * this.watch.span / before);
  }

  grip(event) {
    if (event.button !== 0) return;
    this.canvas.setPointerCapture(event.pointerId);
    this.held = { x: event.clientX, time: this.watch.time(), moved: false };
  }

  drag(event) {
    if (!this.held) return this.hover(event);
    const along = event.clientX - this.held.x;
    this.held.moved ||= Math.abs(along) > Traffic.slack;
    if (this.held.moved) this.watch.moveTo(this.held.time - along / this.lanes.scale);
  }

  hover(event) {
    const { offsetX, offsetY } = event;
    const device = this.lanes.named(offsetX, offsetY)?.device ?? -1;
    const something = device >= 0 || this.lanes.message(offsetX, offsetY);
    this.canvas.style.cursor = something ? "pointer" : "";
  }

  // release without a move was a click: on a message, on the name of a device, or beside.
  release(event) {
    const held = this.held;
    this.held = null;
    if (!held || held.moved) return;
    const device = this.lanes.named(event.offsetX, event.offsetY)?.device ?? -1;
    if (device >= 0) return this.side.open(device);
    this.watch.select(this.lanes.message(event.offsetX, event.offsetY)?.n ?? null);
  }

  key(event) {
    if (event.ctrlKey || event.altKey || event.metaKey || event.target !== this.scroll) return;
    const { span } = this.watch;
    const does = {
      ArrowLeft: () => this.watch.back(span / 10),
      ArrowRight: () => this.watch.back(-span / 10),
      ArrowUp: () => this.watch.setSpan(span / 1.5),
      ArrowDown: () => this.watch.setSpan(span * 1.5),
      PageUp: () => this.watch.back(span * 0.9),
      PageDown: () => this.watch.back(-span * 0.9),
      Home: () => this.watch.moveTo((this.store.carriers[0]?.off ?? 0)),
      End: () => this.watch.live(),
    }[event.key];
    if (!does || this.overflows && /Up|Down/.test(event.key)) return; // then these keys scroll
    event.preventDefault();
    does();
  }

  // tellList writes the latest messages that are in sight as a list.
  tellList() {
    if (!this.store.hello) return;
    const end = firstAfter(this.store.messages, this.watch.time(), (message) => message.end);
    const last = this.store.messages[end - 1]?.n;
    if (last === this.listed) return;
    this.listed = last;
    const messages = this.store.messages.slice(Math.max(end - Traffic.listLength, 0), end);
    this.list.replaceChildren(...messages.map((message) =>
      Strip.make("li", "", {}, `${clockText(message.start)} ${message.sentence}`)));
  }
}

Traffic.ahead = 0.07; // part of the lanes that lies behind the moment that is shown
Traffic.calmStep = 0.5; // seconds
Traffic.slack = 4;    // CSS pixels by which a click may move
Traffic.listMS = 1000;
Traffic.listLength = 12;

const traffic = new Traffic(store, watch, side);
