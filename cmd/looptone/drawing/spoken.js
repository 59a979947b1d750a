"use strict";

// Spoken is what was said on a line: carriers and messages in the order of their times,
// which of them belong together, what collided, and which timers ran in between. It draws
// nothing.
class Spoken {
  constructor(timers = {}) {
    this.timers = { ...Spoken.standard, ...timers };
    this.set([], []);
  }

  // set takes arrays that may grow at their end and be cut at their beginning.
  set(carriers, messages) {
    this.carriers = carriers;
    this.messages = messages;
    this.forget();
    this.update();
  }

  forget() {
    this.of = new Map(); // n of a carrier → its message
    this.known = 0;      // n of the last message that was looked at
    this.longest = 0;    // seconds of a carrier
    this.measured = 0;   // n of the last carrier that was looked at
  }

  // update looks at what has come since; the last carrier may have become longer.
  update() {
    if (this.of.size > 3 * this.messages.length + 1000) this.forget();
    for (let i = this.carriers.length; i-- > 0 && this.carriers[i].n >= this.measured;) {
      this.longest = Math.max(this.longest, this.carriers[i].off - this.carriers[i].on);
    }
    this.measured = this.carriers.at(-1)?.n ?? 0;
    let first = this.messages.length;
    while (first > 0 && this.messages[first - 1].n > this.known) first--;
    for (let i = first; i < this.messages.length; i++) this.join(this.messages[i]);
    this.known = this.messages.at(-1)?.n ?? 0;
  }

  join(message) {
    const [first, last] = this.carriersIn(message.start, message.end);
    for (let i = first; i < last; i++) {
      const carrier = this.carriers[i];
      const middle = (Math.max(carrier.start, message.start) + Math.min(carrier.off, message.end)) / 2;
      const within = middle > carrier.on && middle < carrier.off && middle > message.start && middle < message.end;
      if (within && carrier.station === message.from && message.kind !== "unanswered") this.of.set(carrier.n, message);
    }
  }

  // carriersIn gives the first and the last+1 index of those that may touch a time.
  carriersIn(from, to) {
    const on = (carrier) => carrier.on;
    return [firstAfter(this.carriers, from - this.longest - 1e-9, on), firstAfter(this.carriers, to, on)];
  }

  // messagesIn gives all that touch a time, and those around them that they answer.
  messagesIn(from, to) {
    const end = (message) => message.end;
    const messages = [];
    for (let i = firstAfter(this.messages, from - Spoken.around, end); i < this.messages.length; i++) {
      if (this.messages[i].start > to + Spoken.around) break;
      messages.push(this.messages[i]);
    }
    return messages;
  }

  message(carrier) { return this.of.get(carrier.n); }

  // role is who talks: host, device, burst, or trouble for a fault. As long as it was not
  // heard what it is, a device that nobody has asked just now talks by itself.
  role(carrier, station) {
    if (station?.kind === "fault") return "trouble";
    const kind = this.message(carrier)?.kind;
    if (kind === "request") return "host";
    if (kind === "reply") return "device";
    if (kind === "burst") return "burst";
    if (station?.kind === "master") return "host";
    if (kind || station?.kind !== "device") return station?.kind === "device" ? "device" : "host";
    const asked = this.lastBefore(carrier.start);
    const open = asked && asked.kind === "request" && carrier.start - asked.end <= this.timers.slave_time_out + 1;
    return open ? "device" : "burst";
  }

  lastBefore(time) {
    return this.messages[firstAfter(this.messages, time, (message) => message.end) - 1];
  }

  // firstIn is the first carrier whose characters begin in a time; of anybody but one
  // station, where that is given.
  firstIn(from, to, but = -1) {
    const [first, last] = this.carriersIn(from, to);
    for (let i = first; i < last; i++) {
      const carrier = this.carriers[i];
      if (carrier.start >= from - 1e-6 && carrier.start <= to && carrier.station !== but) return carrier;
    }
    return undefined;
  }

  // running gives the timers between two moments, as they stand at now: each with kind,
  // station, start, end (so far), full (its whole length) and over (it has run out).
  running(from, to, now, stations) {
    const messages = this.messagesIn(from, to);
    const timers = [];
    for (const message of messages) {
      if (message.end > now) continue;
      if (message.kind === "request") timers.push(this.timeOut(message, now));
      if (message.kind === "reply") this.grant(message, now, timers);
    }
    const masters = stations.filter((station) => station.kind === "master" && !station.gone);
    if (masters.length) this.quiet(from, to, now, masters, timers);
    return timers.filter((timer) => timer && timer.end > from && timer.start < to && timer.end > timer.start);
  }

  // timeOut runs from the check byte of a request until its device answers, or another
  // station talks instead.
  timeOut(request, now) {
    const full = this.timers.slave_time_out;
    const limit = Math.min(request.end + full, now);
    const answer = this.firstIn(request.end, limit, request.from);
    const station = request.to >= 0 ? request.to : request.from;
    const end = answer ? answer.start : limit;
    const over = !answer && now >= request.end + full;
    const answered = Boolean(answer) && (request.to < 0 || answer.station === request.to);
    return { kind: "time-out", station, start: request.end, end, full, over, answered };
  }

  // grant runs behind a transaction: so long its master leaves the line to the other one.
  grant(reply, now, timers) {
    const request = this.messages[firstAfter(this.messages, reply.reply_to - 0.5, (message) => message.n)];
    if (request?.n !== reply.reply_to || request.from < 0) return;
    const full = this.timers.link_grant;
    const limit = Math.min(reply.end + full, now);
    const end = this.firstIn(reply.end, limit)?.start ?? limit;
    timers.push({ kind: "grant", station: request.from, start: reply.end, end, full, over: end >= reply.end + full });
  }

  // quiet runs whenever the line falls silent. It is told of a silence that lasts longer
  // than an answer, or the next turn, lets wait for.
  quiet(from, to, now, masters, timers) {
    const [first, last] = this.carriersIn(from - 1, to);
    let heard = -Infinity;
    for (let i = first; i <= last; i++) {
      const next = i < last ? this.carriers[i].start : Infinity;
      if (next > heard && heard > -Infinity) this.silence(heard, Math.min(next, now), masters, timers);
      if (i < last) heard = Math.max(heard, this.spoken(this.carriers[i]));
    }
  }

  // spoken is when the last character of a carrier ends.
  spoken(carrier) {
    let end = carrier.start + carrier.chars * this.timers.character;
    for (const pause of carrier.pauses || []) end += pause[1];
    return Math.min(end, carrier.off);
  }

  silence(start, end, masters, timers) {
    const last = this.lastBefore(start + this.timers.bit);
    const asked = last?.kind === "request" && Math.abs(last.end - start) < this.timers.character;
    if (end - start <= (asked ? this.timers.slave_time_out : this.timers.link_grant + this.timers.hold)) return;
    for (const master of masters) {
      const second = /secondary/.test(master.name);
      const full = second ? this.timers.link_quiet_secondary : this.timers.link_quiet_primary;
      timers.push({ kind: "quiet", station: master.id, start, end: Math.min(end, start + full), full, over: end >= start + full });
    }
  }

  // collisions are the times in which two talk at once: from, to, and both carriers.
  collisions(from, to) {
    const [first, last] = this.carriersIn(from, to);
    const found = [];
    let open = [];
    for (let i = first; i < last; i++) {
      const carrier = this.carriers[i];
      open = open.filter((other) => this.spoken(other) > carrier.start + this.timers.bit);
      for (const other of open) {
        if (other.station === carrier.station) continue;
        const end = Math.min(this.spoken(other), this.spoken(carrier));
        found.push({ from: carrier.start, to: end, carriers: [other, carrier] });
      }
      open.push(carrier);
    }
    return found;
  }
}

Spoken.around = 3.5; // seconds: longer than the longest message and its answer's wait

// The timers in seconds, where nobody says otherwise.
//
// Source: FieldComm Group support article 8000040648 (timer table).
Spoken.standard = {
  bit: 1 / 1200,
  character: 11 / 1200,
  slave_time_out: 28 * 11 / 1200,
  hold: 2 * 11 / 1200,
  link_grant: 8 * 11 / 1200,
  link_quiet_primary: 33 * 11 / 1200,
  link_quiet_secondary: 41 * 11 / 1200,
};
