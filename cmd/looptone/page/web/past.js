"use strict";

// Past keeps what the devices have measured: store.trend(i) for a quarter of an hour,
// from the server what was before this page came, and what stands behind every stage
// for a few minutes.
class Past {
  constructor(store) {
    this.store = store;
    this.time = [];
    this.outs = []; // { time, devices: [[numbers]] }
    this.listeners = [];
    store.on("hello", (hello) => this.begin(hello));
    store.on("values", (values) => this.take(values));
    store.on("lost", () => this.gap());
  }

  // on calls f when there is something new.
  on(f) { this.listeners.push(f); }

  tell() { for (const f of this.listeners) f(); }

  begin(hello) {
    const same = this.epoch === hello.epoch && this.line === hello.line && !(this.time.at(-1) > hello.clock.line + 1);
    [this.epoch, this.line] = [hello.epoch, hello.line];
    if (!same || this.devices !== hello.devices.length) this.clear(hello.devices);
    this.controllers = hello.devices.map((d) => d.outputs.findIndex((o) => o.name === "controller"));
    this.take(hello.values);
    this.ask(hello.epoch);
  }

  clear(devices) {
    this.devices = devices.length;
    this.time = [];
    this.outs = [];
    this.store.trends = devices.map(() => ({ time: this.time, pv: [], percent: [], ma: [], set_point: [], manipulated: [] }));
  }

  // ask fetches what was before, and puts it in front of what has come meanwhile.
  async ask(epoch) {
    try {
      const reply = await fetch("/trend");
      if (!reply.ok) return;
      const told = await reply.json();
      if (told.epoch !== epoch || this.epoch !== epoch || told.devices.length !== this.devices) return;
      this.putInFront(told);
      this.tell();
    } catch {
      // the line is gone; hello comes again when it is back
    }
  }

  putInFront(told) {
    const from = firstAfter(this.time, told.time.at(-1) ?? -1, Number);
    this.time.splice(0, from, ...told.time);
    this.store.trends.forEach((trend, i) => {
      for (const key of ["pv", "percent", "ma", "set_point", "manipulated"]) {
        const older = told.devices[i][key] || told.time.map(() => null);
        trend[key].splice(0, from, ...older);
      }
      this.setPoint(i, told.devices[i].set_point?.at(-1) ?? null);
    });
  }

  // take appends values. They come when something has changed only: what was before has
  // stood until just now.
  take(values) {
    if (!values || values.devices.length !== this.devices) return;
    const last = this.time.at(-1);
    if (last !== undefined && values.time <= last) return;
    if (last !== undefined && values.time - last > 2 * Past.period) this.append(values.time - Past.period, null);
    this.append(values.time, values.devices);
    this.outs.push({ time: values.time, devices: values.devices.map((d) => d.out) });
    this.forget(values.time);
    this.lookAtUnits(values.devices);
    this.tell();
  }

  // lookAtUnits asks again when a primary variable has another unit: the server converts.
  lookAtUnits(devices) {
    const units = devices.map((d) => d.pv_unit).join(" ");
    if (this.units !== undefined && units !== this.units) this.ask(this.epoch);
    this.units = units;
  }

  // append takes no devices for: as before.
  append(time, devices) {
    this.time.push(time);
    this.store.trends.forEach((trend, i) => {
      const now = devices?.[i];
      trend.pv.push(now ? now.pv : trend.pv.at(-1));
      trend.percent.push(now ? now.percent : trend.percent.at(-1));
      trend.ma.push(now ? now.ma : trend.ma.at(-1));
      trend.set_point.push(trend.set_point.at(-1) ?? null);
      trend.manipulated.push(now ? now.out[this.controllers[i]] ?? null : trend.manipulated.at(-1));
    });
  }

  // setPoint tells to what a controller is set now, and was since that was not known.
  setPoint(i, percent) {
    const list = this.store.trends?.[i]?.set_point || [];
    for (let at = list.length - 1; at >= 0 && (at === list.length - 1 || list[at] === null); at--) list[at] = percent;
  }

  // gap: nobody knows what was while the connection is lost.
  gap() {
    if (!this.time.length) return;
    this.append(this.time.at(-1) + 1e-3, this.store.trends.map(() => ({ pv: null, percent: null, ma: null, out: [] })));
    this.tell();
  }

  forget(now) {
    if (this.time[0] < now - Store.keptSeconds - 60) {
      const old = firstAfter(this.time, now - Store.keptSeconds, Number);
      this.time.splice(0, old);
      for (const trend of this.store.trends) {
        for (const key of ["pv", "percent", "ma", "set_point", "manipulated"]) trend[key].splice(0, old);
      }
    }
    if (this.outs[0]?.time < now - Past.outsKept - 30) {
      this.outs.splice(0, firstAfter(this.outs, now - Past.outsKept, (o) => o.time));
    }
  }

  // outsAt is what stood behind the stages of device i at a time; null where that is not known.
  outsAt(i, time) {
    const at = firstAfter(this.outs, time + 1e-6, (o) => o.time) - 1;
    return at < 0 ? null : this.outs[at].devices[i];
  }

  // outSeries is one output of device i over time.
  outSeries(i, k) {
    return { time: this.outs.map((o) => o.time), value: this.outs.map((o) => o.devices[i][k]) };
  }
}

Past.period = 0.6;    // seconds from values to values, a little more
Past.outsKept = 300;  // seconds

// lastSeconds is what to draw of the last so many seconds before a moment: less as long as
// the line is younger, but half a minute at least.
function lastSeconds(moment, span) {
  const from = Math.max(0, moment - span);
  return { from, to: Math.max(moment, from + Math.min(span, 30)) };
}

const past = new Past(store);
