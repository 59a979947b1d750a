"use strict";

// Message is the part of the page in which one message is taken apart: the selected one,
// or else the latest one before the moment that is shown.
class MessagePanel {
  constructor(store, watch) {
    [this.store, this.watch] = [store, watch];
    this.shown = null;
    this.switched = 0;
    this.apart = new Map(); // n → boxes, of the latest that were looked at
    this.player = new Player();
    this.build(document.getElementById("message"));
    store.on("message", (message) => this.hearAgain(message));
    store.on("hello", () => this.forget());
    store.on("carrier", () => this.shown || this.showSentence(null));
    watch.on("selected", () => this.follow(true));
    watch.on("frame", () => this.follow(false));
  }

  build(element) {
    const make = Strip.make;
    const head = make("div", "message-head");
    this.sentence = make("h2", "message-sentence");
    this.when = make("p", "message-when");
    head.append(this.sentence, this.when, this.buildWays());
    const bytes = make("div", "message-bytes");
    this.strip = new Strip(bytes);
    const check = make("div", "check", { role: "group", "aria-label": "The check byte recomputed" });
    this.check = new Check(check, this.strip);
    this.body = make("div", "message-body");
    this.body.append(bytes, this.buildHearing(), check);
    element.append(head, this.body);
    check.addEventListener("click", () => this.hold());
    this.showSentence(null);
    this.showWays(null);
  }

  buildWays() {
    const ways = this.ways = Strip.make("div", "message-ways", { role: "group", "aria-label": "Which message" });
    this.before = this.button(ways, "◂ Before", () => this.walk(-1));
    this.after = this.button(ways, "Next ▸", () => this.walk(1));
    this.partner = this.button(ways, "Its reply", () => this.watch.select(this.other.n));
    this.latest = this.button(ways, "Latest", () => this.watch.select(null));
    return ways;
  }

  button(parent, text, f) {
    const button = Strip.make("button", "", { type: "button" }, text);
    button.addEventListener("click", f);
    parent.append(button);
    return button;
  }

  buildHearing() {
    const group = Strip.make("div", "message-hear", { role: "group", "aria-label": "Hear it" });
    this.toHear = this.button(group, "Hear it", () => this.hear());
    this.slow = Strip.make("select", "", { "aria-label": "How fast it is played" });
    for (const [value, text] of [[1, "as fast as it is"], [4, "at 1/4"], [20, "at 1/20"], [100, "at 1/100"]]) {
      this.slow.append(Strip.make("option", "", { value }, text));
    }
    this.volume = Strip.make("input", "", { type: "range", min: "0", max: "1", step: "0.05", value: String(this.player.volume), "aria-label": "Volume" });
    this.volume.addEventListener("input", () => this.player.setVolume(Number(this.volume.value)));
    this.heard = Strip.make("p", "message-heard", { role: "status" }, MessagePanel.soundHint);
    group.append(this.slow, this.volume, this.heard);
    return group;
  }

  // hearAgain is for what is told of a message once more: the class was asked about it.
  hearAgain({ n }) {
    this.apart.delete(n);
    if (this.shown?.n === n) this.takeApart(this.shown);
  }

  // forget is for another line, or another epoch of it: numbers begin anew.
  forget() {
    this.apart.clear();
    this.player.stop();
    this.show(null);
    this.showSentence(null); // it may be another one now
    this.switched = -Infinity; // what was said before this page came is shown at once
  }

  // follow shows what is selected, or the latest; not more than one a second, while the
  // line runs, and not away from under somebody's hands.
  follow(now) {
    if (!this.store.hello) return;
    const n = this.watch.selected;
    if (n !== null) return this.show(this.store.message(n) ?? this.shown);
    const time = this.watch.time();
    const latest = this.store.messages[firstAfter(this.store.messages, time + 1e-6, (m) => m.end) - 1] ?? null;
    if (latest === this.shown) return;
    const hurries = this.watch.rate > 0.3 && performance.now() - this.switched < MessagePanel.leastMS;
    if (!now && (hurries || this.held)) return;
    this.show(latest);
  }

  get held() { return this.player.playing || this.check.timer !== undefined; }

  // hold keeps the message that is shown: somebody works with it.
  hold() {
    if (this.shown && this.watch.selected === null) this.watch.select(this.shown.n);
  }

  show(message) {
    this.showWays(message);
    if (message === this.shown) return;
    this.player.stop();
    this.shown = message;
    this.switched = performance.now();
    this.takeApart(message);
  }

  // takeApart writes the sentence and the bytes at once, when both are there.
  async takeApart(message) {
    const boxes = message?.hex ? await this.boxesOf(message) : [];
    if (this.shown !== message) return;
    this.showSentence(message);
    this.strip.show(boxes);
    this.body.classList.toggle("message-short", this.strip.bytes.length <= MessagePanel.short);
    this.check.begin();
  }

  // whyNone tells why there is no message: one carrier after the other, and none was heard.
  whyNone() {
    const { carriers, messages } = this.store;
    return carriers.length > 1 && !messages.length ? "Nobody can make out what is said." : "Nobody has said anything yet.";
  }

  showSentence(message) {
    const parts = message ? this.partsOf(message) : [this.whyNone()];
    this.sentence.title = parts.join("  ");
    this.sentence.replaceChildren(...parts.map((part) => Strip.make("span", "", {}, part)));
    this.when.textContent = message ? this.timesOf(message) : "";
    this.sentence.classList.toggle("message-long", parts.join("  ").length > MessagePanel.longLine);
    this.body.classList.toggle("message-silent", !message?.hex);
  }

  // partsOf is the sentence, with the names that the lanes have.
  partsOf(message) {
    const [who, ...rest] = message.sentence.split(/ {2,}/);
    const name = (station, otherwise) => this.store.station(station)?.name ?? otherwise;
    const [from, to] = who.split(" → ");
    if (message.kind === "unanswered") {
      return message.from < 0 ? [who, ...rest] : [`${name(message.from)} does not answer ${name(message.to, "its host")}`, ...rest];
    }
    return to && rest.length ? [`${name(message.from, from)} → ${name(message.to, to)}`, ...rest] : [who, ...rest];
  }

  timesOf(message) {
    if (message.kind === "unanswered") return `at ${clockText(message.end)} of line time`;
    return `at ${clockText(message.start)}, for ${spanText(message.end - message.start)}`;
  }

  showWays(message) {
    const other = message ? this.partnerOf(message) : undefined;
    const key = [message?.n, other?.n, this.watch.selected].join();
    if (key === this.waysShown) return;
    this.waysShown = key;
    this.other = other;
    this.ways.hidden = !message;
    this.before.disabled = !message || this.neighbour(message, -1) === undefined;
    this.after.disabled = !message;
    this.partner.disabled = !other;
    this.partner.textContent = message?.reply_to ? "Its request" : "Its reply";
    this.latest.setAttribute("aria-pressed", String(this.watch.selected === null));
  }

  // partnerOf is the request of a reply, or what came of a request.
  partnerOf(message) {
    if (message.reply_to) return this.store.message(message.reply_to);
    if (message.kind !== "request") return undefined;
    const messages = this.store.messages;
    const first = firstAfter(messages, message.n, (m) => m.n);
    return messages.slice(first, first + 8).find((m) => m.reply_to === message.n);
  }

  neighbour(message, step) {
    const messages = this.store.messages;
    const at = firstAfter(messages, message.n, (m) => m.n) - 1;
    return messages[at + step];
  }

  walk(step) {
    const to = this.shown && this.neighbour(this.shown, step);
    if (to) this.watch.select(to.n);
  }

  async boxesOf(message) {
    let boxes = this.apart.get(message.n);
    if (boxes) return boxes;
    boxes = await MessagePanel.ask(message.n) ?? MessagePanel.whole(message);
    if (this.apart.size > 200) this.apart.clear();
    this.apart.set(message.n, boxes);
    return boxes;
  }

  static async ask(n) {
    try {
      const reply = await fetch(`/message?n=${n}`);
      return reply.ok ? (await reply.json()).boxes : undefined;
    } catch {
      return undefined;
    }
  }

  // whole is what is left to show where the program no longer knows a message's parts.
  static whole(message) {
    const boxes = [{ hex: message.hex, caption: "bytes", sentence: "as they were on the line; what each of them means is not kept any more" }];
    if (message.ff) boxes.unshift({ hex: "ff".repeat(message.ff), caption: "preambles", sentence: "they let the receiver settle" });
    return boxes;
  }

  async hear() {
    if (this.player.playing) return this.player.stop();
    const message = this.shown;
    if (!message?.hex) return;
    this.hold();
    this.check.halt();
    const slow = Number(this.slow.value);
    const bytes = [...Array(message.ff).fill(0xff), ...Strip.split(message.hex).map((hex) => parseInt(hex, 16))];
    const shift = message.ff - this.strip.preambles;
    this.toHear.textContent = "Stop";
    await this.player.play(bytes, slow, ({ index, part }) => this.strip.mark(index - shift, part), () => this.silent());
    this.heard.textContent = `Sound, ${spanText(this.player.tones?.seconds ?? 0)} long: the low tone (1200 Hz) is a 1, the high one (2200 Hz) a 0.`;
  }

  silent() {
    this.toHear.textContent = "Hear it";
    this.heard.textContent = MessagePanel.soundHint;
    this.strip.mark();
  }
}

MessagePanel.leastMS = 1200;
MessagePanel.short = 18; // bytes that fit in large type
MessagePanel.longLine = 84; // characters that fit in large type
MessagePanel.soundHint = "Plays its tones, as sound from this computer.";

const messagePanel = new MessagePanel(store, watch);
