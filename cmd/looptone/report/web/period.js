"use strict";

// Period is the time that is shown large.
class Period {
  constructor(traffic) {
    this.least = traffic.from;
    this.most = Math.max(traffic.to, traffic.from + Period.shortest);
    this.listeners = [];
    this.set(this.least, Math.min(this.most, this.least + Period.first));
  }

  on(f) { this.listeners.push(f); }

  get span() { return this.to - this.from; }

  set(from, to) {
    const span = Math.min(Math.max(to - from, Period.shortest), this.most - this.least);
    const left = Math.min(Math.max(from, this.least), this.most - span);
    if (left === this.from && left + span === this.to) return;
    [this.from, this.to] = [left, left + span];
    for (const f of this.listeners) f();
  }

  // zoom shows more or less around a moment, that stays where it is.
  zoom(factor, around = (this.from + this.to) / 2) {
    const span = Math.min(Math.max(this.span * factor, Period.shortest), this.most - this.least);
    const from = around - (around - this.from) / this.span * span;
    this.set(from, from + span);
  }

  move(part) { this.set(this.from + part * this.span, this.to + part * this.span); }

  // show moves so that something is in the middle, if it is not in sight.
  show(from, to) {
    if (from >= this.from && to <= this.to && this.span <= 60) return;
    const span = Math.max(Math.min(this.span, 20), (to - from) * 1.2);
    this.set((from + to - span) / 2, (from + to + span) / 2);
  }
}

Period.first = 20;     // seconds
Period.shortest = 0.2;
