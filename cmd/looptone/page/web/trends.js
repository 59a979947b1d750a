"use strict";

// Trends are small pictures below each other, one a device: what it has measured over the
// last minutes.
class Trends {
  constructor(store, watch, side, past) {
    [this.store, this.watch, this.side, this.past] = [store, watch, side, past];
    this.element = document.getElementById("trends");
    this.what = "pv";
    this.span = 300;
    this.left = new Set(); // tags of those that are left out
    this.rows = [];
    this.build();
    store.on("hello", () => this.lay());
    past.on(() => this.draw());
    watch.on("moved", () => this.draw());
    watch.on("frame", () => this.turn());
    side.on((name) => name === "trends" && this.draw());
  }

  get shown() { return !this.element.hidden && this.store.hello !== null; }

  build() {
    const head = html("div", "trends-head");
    head.append(html("h2", "", "Trends"), this.choice("What is drawn", Trends.kinds, this.what, (v) => { this.what = v; }),
      this.choice("How long", Trends.spans, String(this.span), (v) => { this.span = Number(v); }));
    this.chips = html("div", "chips");
    this.chips.setAttribute("role", "group");
    this.chips.setAttribute("aria-label", "Devices shown");
    this.list = html("div", "trend-list");
    this.element.append(head, this.chips, this.list);
  }

  // choice is one of some buttons, of which one is pressed.
  choice(name, kinds, now, f) {
    const group = html("div", "joined");
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", name);
    for (const [key, text] of Object.entries(kinds)) {
      const one = html("button", "", text);
      one.setAttribute("aria-pressed", String(key === now));
      one.addEventListener("click", () => {
        for (const other of group.children) other.setAttribute("aria-pressed", String(other === one));
        f(key);
        this.draw();
      });
      group.append(one);
    }
    return group;
  }

  // lay makes a picture for every device, where there are others than before.
  lay() {
    const tags = this.store.hello.devices.map((d) => d.tag);
    if (this.tags?.join() !== tags.join()) {
      this.tags = tags;
      this.chips.replaceChildren(...tags.map((tag) => this.chip(tag)));
      this.rows = tags.map((tag, i) => this.row(tag, i));
      this.list.replaceChildren(...this.rows.map((r) => r.figure));
    }
    this.draw();
  }

  chip(tag) {
    const one = html("button", "chip", tag);
    one.setAttribute("aria-pressed", String(!this.left.has(tag)));
    one.addEventListener("click", () => {
      if (!this.left.delete(tag)) this.left.add(tag);
      one.setAttribute("aria-pressed", String(!this.left.has(tag)));
      this.draw();
    });
    return one;
  }

  row(tag, i) {
    const figure = html("figure", "trend-row");
    const caption = html("figcaption");
    const open = html("button", "trend-tag", tag);
    open.title = `Open ${tag}`;
    open.addEventListener("click", () => {
      this.watch.open(i);
      this.side.show("device");
    });
    const value = html("span", "trend-value"), canvas = html("canvas");
    caption.append(open, value);
    figure.append(caption, canvas);
    const trend = new Trend(canvas, tag);
    trend.onCursor = (time) => { for (const r of this.rows) r.trend.setCursor(time); };
    return { figure, value, trend, tag, i };
  }

  draw() {
    if (!this.shown) return;
    this.drawnAt = this.watch.time();
    const { from, to } = lastSeconds(this.drawnAt, this.span);
    const rows = this.rows.filter((r) => {
      r.figure.hidden = this.left.has(r.tag);
      return !r.figure.hidden;
    });
    rows.forEach((r, n) => this.drawRow(r, from, to, n < rows.length - 1));
    this.alignLeft(rows);
  }

  // alignLeft gives all pictures the same room for their numbers, so that the same moment
  // stands below itself.
  alignLeft(rows) {
    const widest = Math.max(0, ...rows.map((r) => (r.trend.plot.left ?? 0) - (r.trend.plot.text ?? 0) * 0.6));
    if (widest <= this.widest + 0.5 && widest >= this.widest - 20) return;
    this.widest = widest;
    for (const r of rows) r.trend.show({ ...r.trend.shown, left: widest });
  }

  drawRow(r, from, to, bare) {
    const trend = this.store.trend(r.i);
    const now = this.store.values.devices[r.i];
    const unit = { pv: now?.pv_unit, percent: "%", ma: "mA" }[this.what];
    const series = { name: Trends.kinds[this.what], unit, time: trend.time, value: trend[this.what], colour: "--device" };
    if (this.store.connected) series.until = this.store.lineNow();
    const value = this.watch.atEdge ? now?.[this.what] : Trend.valueAt(series, to);
    renewText(r.value, now?.dark && this.watch.atEdge ? "dark" : `${figureText(value)} ${unit}`);
    r.trend.name = `${r.tag}, ${Trends.kinds[this.what]}`;
    r.trend.show({ from, to, series: [series], least: this.what === "percent" ? 5 : 0, scale: this.what === "ma" ? Trends.loop : null, bare, left: this.widest });
  }

  // turn moves the pictures on when that can be seen.
  turn() {
    if (!this.shown || !this.rows.length) return;
    const pixel = this.span / Math.max(this.list.clientWidth, 100);
    if (Math.abs(this.watch.time() - this.drawnAt) > 2 * pixel) this.draw();
  }
}

Trends.kinds = { pv: "process variable", percent: "percent", ma: "current" };
Trends.loop = { from: 0, to: 24, at: [4, 12, 20] }; // mA: parked or moving is seen at once
Trends.spans = { 60: "1 min", 300: "5 min", 900: "15 min" };

const trends = new Trends(store, watch, side, past);
