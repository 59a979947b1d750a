"use strict";

// DeviceView is one device opened: who it is, its stages like beads on a string from the
// process to the loop current, and of the chosen one what it makes of what it is given.
class DeviceView {
  constructor(store, watch, side, past) {
    [this.store, this.watch, this.past] = [store, watch, past];
    this.element = document.getElementById("device");
    this.opened = null;
    this.chosen = "";
    this.build();
    watch.on("device", () => this.open());
    watch.on("moved", () => this.showValues());
    watch.on("frame", () => this.turn());
    side.on((name) => name === "device" && this.open());
    past.on(() => this.showValues());
    for (const name of ["hello", "news", "standing"]) store.on(name, () => this.ask());
    store.on("message", (message) => this.hear(message));
  }

  get shown() { return !this.element.hidden && this.watch.device !== null; }

  build() {
    this.tag = html("h2", "device-tag");
    this.before = newButton("◂", "The device before", () => this.go(-1));
    this.behind = newButton("▸", "The next device", () => this.go(1));
    this.name = html("p", "device-name");
    this.facts = html("p", "device-facts");
    this.mode = html("p", "device-mode");
    this.mark = html("span", "mark");
    this.modeText = html("span");
    this.mode.append(this.mark, this.modeText);
    this.string = html("div", "string");
    this.string.setAttribute("role", "tablist");
    this.string.setAttribute("aria-label", "From the process to the loop current");
    this.string.addEventListener("keydown", (event) => this.press(event));
    this.buildStage();
    const head = html("div", "device-head");
    head.append(this.tag, this.name, this.before, this.behind);
    this.element.append(head, this.facts, this.mode, this.string, this.stage);
  }

  buildStage() {
    this.stage = html("section", "stage");
    this.stage.id = "stage";
    this.stage.setAttribute("role", "tabpanel");
    this.title = html("h3", "stage-title");
    this.reading = html("p", "stage-reading");
    this.says = html("p", "stage-says");
    const curve = html("canvas", "stage-curve"), over = html("canvas", "stage-over");
    this.curve = new CurveDrawing(curve);
    this.over = new Trend(over, "");
    this.dials = html("dl", "dials");
    const head = html("div", "stage-head");
    head.append(this.title, this.reading);
    this.stage.append(head, this.says, curve, over, this.dials);
  }

  go(step) {
    const n = this.store.hello.devices.length;
    this.watch.open((this.watch.device + step + n) % n);
  }

  open() {
    if (!this.shown) return;
    if (this.opened?.i !== this.watch.device) {
      this.opened = null;
      this.tag.textContent = this.store.hello?.devices[this.watch.device]?.tag || "";
    }
    this.ask();
  }

  // ask fetches the device, not more often than it is worth: writes and actions change it.
  ask() {
    if (!this.shown || this.asking) return;
    this.asking = setTimeout(() => {
      this.asking = 0;
      this.fetch(this.watch.device);
    }, this.opened ? DeviceView.patience : 0);
  }

  async fetch(i) {
    if (i === null) return;
    try {
      const reply = await fetch(`/device?i=${i}`);
      if (!reply.ok || i !== this.watch.device) return;
      this.opened = { i, ...await reply.json() };
    } catch {
      return; // hello comes when the line is back
    }
    this.show();
  }

  // hear asks again when the device has answered to what may have been a write.
  hear(message) {
    if (message.kind !== "reply" || DeviceView.reads.has(message.command)) return;
    if (this.store.station(message.from)?.device === this.watch.device) this.ask();
  }

  show() {
    if (!this.opened) return;
    const { opened } = this;
    this.tag.textContent = opened.tag;
    this.name.textContent = opened.long_tag !== opened.tag && opened.long_tag || opened.descriptor;
    this.facts.textContent = `Polling address ${opened.polling}, revision ${opened.revision}, unique address ${opened.unique}.`;
    for (const b of [this.before, this.behind]) b.hidden = this.store.hello.devices.length < 2;
    if (opened.set_point !== null) this.past.setPoint(opened.i, opened.set_point);
    this.layBeads();
    this.choose(this.bead() ? this.chosen : DeviceView.first(opened.beads));
  }

  // first is the bead to begin with: the table, or what else bends most.
  static first(beads) {
    const bends = ["table", "transfer", "controller", "range"].map((name) => beads.find((b) => b.name === name && !b.idle));
    return bends.find(Boolean).name;
  }

  bead() { return this.opened?.beads.find((b) => b.name === this.chosen); }

  // layBeads lays them anew only where there are others: who has the keyboard keeps it.
  layBeads() {
    const { beads } = this.opened;
    const names = beads.map((b) => b.name).join(" ");
    if (names !== this.laid) {
      this.string.replaceChildren(...beads.map((b) => this.makeBead(b)));
      this.laid = names;
    }
    beads.forEach((b, k) => this.markBead(this.string.children[k], b));
  }

  makeBead(b) {
    const tab = html("button", "bead");
    tab.id = `bead-${b.name}`;
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", "stage");
    tab.append(html("span", "bead-name", b.title), html("span", "bead-value"));
    tab.addEventListener("click", () => this.choose(b.name));
    return tab;
  }

  markBead(tab, b) {
    tab.classList.toggle("idle", b.idle);
    tab.classList.toggle("hangs", !b.string);
    tab.title = b.idle ? `${b.says} As it is set, it hands on what it is given.` : b.says;
  }

  choose(name) {
    this.chosen = name;
    const b = this.bead();
    for (const tab of this.string.children) {
      const on = tab.id === `bead-${name}`;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
    }
    this.stage.setAttribute("aria-labelledby", `bead-${name}`);
    this.title.textContent = b.title;
    this.says.textContent = b.idle ? `${b.says} As it is set, it hands on what it is given.` : b.says;
    this.dials.replaceChildren(...b.settings.map(dialRow));
    this.curve.canvas.hidden = !b.curve;
    this.over.canvas.hidden = !b.over || b.name === "damping" && b.idle;
    this.over.name = `${this.opened.tag}, ${b.title}`;
    this.showValues();
  }

  press(event) {
    const tabs = [...this.string.children];
    const at = tabs.findIndex((t) => t.getAttribute("aria-selected") === "true");
    const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: tabs.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    const tab = tabs[(to + tabs.length) % tabs.length];
    tab.focus();
    tab.click();
  }

  // values are those of the moment that is looked at, or of now where they are not known.
  values() {
    const { i } = this.opened;
    const then = this.watch.atEdge ? null : this.past.outsAt(i, this.watch.time());
    return then || this.store.values.devices[i]?.out || [];
  }

  showValues() {
    if (!this.shown || !this.opened) return;
    const { beads } = this.opened;
    const now = this.values();
    beads.forEach((b, k) => renewText(this.string.children[k].lastChild, `${figureText(now[k])} ${b.unit}`));
    this.showMode();
    const k = beads.findIndex((b) => b.name === this.chosen);
    const b = beads[k];
    const from = beads[b.from];
    const out = `${figureText(now[k])} ${b.unit}`;
    const bends = from && !b.idle && b.curve?.kind !== "step" && b.name !== "totaliser_forward";
    renewText(this.reading, bends ? `${figureText(now[b.from])} ${from.unit} → ${out}` : out);
    if (b.curve) this.showCurve(b, now[b.from], now[k]);
    this.showOver(b);
  }

  showCurve(b, x, y) {
    if (b.curve.kind === "input" && isNumber(x) && (x < b.curve.x.from || x > b.curve.x.to)) this.ask();
    this.curve.show(b.curve, x, y, b.title);
  }

  // showMode says what the current does, and why.
  showMode() {
    const { opened } = this;
    const now = this.store.values.devices[opened.i];
    if (!now) return;
    if (now.mode !== opened.mode || now.dark !== opened.dark || now.polling !== opened.polling) this.ask();
    const kind = now.dark ? "none" : now.mode;
    this.mark.className = `mark ${kind}`;
    this.mode.dataset.mode = kind;
    const ma = numberText(now.ma, 2);
    renewText(this.modeText, now.dark ? `Dark: ${now.dark}.` : `${modeWords[now.mode]} ${ma} mA. ${opened.why}`);
  }

  showOver(b) {
    if (this.over.canvas.hidden) return;
    const at = this.watch.time(), { from, to } = lastSeconds(at, DeviceView.span);
    this.over.show({ from, to, series: b.over.map((track, n) => this.series(track, n)), least: b.unit === "%" ? 5 : 0 });
    this.drawnAt = at;
  }

  // series are drawn solid where they come last: what comes out.
  series(track, n) {
    const looks = [{ colour: "--timer", dash: [0.5, 0.35] }, { colour: "--device" }, { colour: "--ink", dash: [1.2, 0.4] }];
    const { i, beads } = this.opened;
    const style = track.bead < 0 ? looks[0] : beads[track.bead].name === this.chosen ? looks[1] : looks[2];
    const trend = this.store.trend(i);
    let data = { time: trend.time, value: trend.set_point };
    if (track.bead >= 0) data = this.long(i, track.bead) || this.past.outSeries(i, track.bead);
    return { ...data, ...style, name: track.name, unit: beads[Math.max(track.bead, 0)].unit, until: this.store.connected ? this.store.lineNow() : undefined };
  }

  // long is the series that is kept for long, where there is one.
  long(i, k) {
    const { name } = this.opened.beads[k];
    const trend = this.store.trend(i);
    if (name === "controller") return { time: trend.time, value: trend.manipulated };
    if (this.chosen === "controller") return { time: trend.time, value: trend.percent };
    return null;
  }

  // turn moves what is drawn over time on, when that can be seen.
  turn() {
    if (!this.shown || !this.opened || this.over.canvas.hidden) return;
    const pixel = DeviceView.span / Math.max(this.over.canvas.clientWidth, 100);
    if (Math.abs(this.watch.time() - this.drawnAt) > 2 * pixel) this.showOver(this.bead());
  }
}

DeviceView.span = 120;     // seconds, of what is drawn over time
DeviceView.patience = 250; // milliseconds, before it is asked again

// Commands that write nothing: what a poll asks again and again.
DeviceView.reads = new Set([0, 1, 2, 3, 7, 8, 9, 11, 12, 13, 14, 15, 16, 20, 21, 33, 48, 50, 54]);

const modeWords = { parked: "Parked at", moving: "Moving, now", fixed: "Fixed at" };

function newButton(text, name, f) {
  const element = html("button", "", text);
  element.title = name;
  element.setAttribute("aria-label", name);
  element.addEventListener("click", f);
  return element;
}

function dialRow(dial) {
  const row = html("div");
  const name = html("dt", "", `${dial.name} `);
  name.append(html("b", "", dial.value));
  row.append(name, html("dd", "", dial.says));
  return row;
}

const deviceView = new DeviceView(store, watch, side, past);
