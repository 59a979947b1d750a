"use strict";

// Curves are the values of devices over time: curves of those that changed, and the
// others in a table.
class Curves {
  constructor(traffic, element) {
    [this.traffic, this.element] = [traffic, element];
    this.curves = (traffic.curves || []).map((curve) => Curves.unpacked(curve));
    if (!this.curves.length) {
      element.append(make("p", { text: "No measured value was heard." }));
      return;
    }
    const stations = [...new Set(this.curves.map((curve) => curve.station))];
    const form = make("div", { style: "filters" });
    this.station = choice(form, "Device", [["", "all"], ...stations.map((station) => [String(station), traffic.name(station)])]);
    const moving = this.curves.filter((curve) => curve.most > curve.least);
    if (moving.length > Curves.mostAtOnce) this.station.value = String(stations[0]);
    this.station.addEventListener("change", () => this.show());
    this.drawn = make("div");
    element.append(form, this.drawn);
    this.show();
  }

  // unpacked puts the points of a curve behind each other: of one that is thinned out its
  // least and its most.
  static unpacked({ station, name, unit, readings, points }) {
    const curve = { station, name, unit, readings, time: [], value: [], least: Infinity, most: -Infinity };
    for (let i = 0; i < points.length; i += 4) {
      const [from, to, low, high] = points.slice(i, i + 4), before = curve.value.at(-1) ?? low;
      const falls = Math.abs(before - high) < Math.abs(before - low); // the nearer one comes first
      curve.time.push(from);
      curve.value.push(falls ? high : low);
      if (high !== low || to !== from) {
        curve.time.push(to);
        curve.value.push(falls ? low : high);
      }
      curve.least = Math.min(curve.least, low);
      curve.most = Math.max(curve.most, high);
    }
    return curve;
  }

  show() {
    const station = this.station.value, mine = this.curves.filter((curve) => !station || curve.station === Number(station));
    const moving = mine.filter((curve) => curve.most > curve.least);
    this.drawn.replaceChildren(...moving.flatMap((curve) => this.drawing(curve)));
    const still = mine.filter((curve) => curve.most === curve.least);
    if (still.length) this.drawn.append(this.table(still));
  }

  drawing(curve) {
    const title = make("h3", { text: `${this.traffic.name(curve.station)}: ${curve.name}${curve.unit ? `, ${curve.unit}` : ""}` });
    const said = make("p", { style: "quiet", text: `${many(curve.readings, "reading", "readings")}, from ${curve.least} to ${curve.most} ${curve.unit}` });
    const canvas = make("canvas", { style: "trend" });
    const trend = new Trend(canvas, `${this.traffic.name(curve.station)}, ${curve.name}`);
    const { from, to } = this.traffic;
    requestAnimationFrame(() => trend.show({ from, to: Math.max(to, from + 1), series: [{ ...curve, colour: "--device" }] }));
    return [title, said, canvas];
  }

  table(still) {
    const table = make("table", {}, make("caption", { text: "What did not change" }));
    const head = make("tr", {}, ...["Device", "Value", "Always", "Readings"].map((text) => make("th", { text, attributes: { scope: "col" } })));
    table.append(make("thead", {}, head));
    const body = make("tbody");
    for (const curve of still) {
      body.append(make("tr", {}, make("th", { text: this.traffic.name(curve.station), attributes: { scope: "row" } }),
        make("td", { text: curve.name }), make("td", { text: `${curve.least} ${curve.unit}` }), make("td", { text: String(curve.readings) })));
    }
    table.append(body);
    return table;
  }
}

Curves.mostAtOnce = 12; // of all devices, as long as nobody chooses
