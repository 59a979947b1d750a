"use strict";

// Opened is the message that was chosen, taken apart and to be heard.
class Opened {
  constructor(traffic, period) {
    [this.traffic, this.period, this.element] = [traffic, period, document.getElementById("opened")];
    this.listeners = [];
    this.message = null;
    this.player = new Player();
    this.build();
  }

  on(f) { this.listeners.push(f); }

  build() {
    this.head = make("h3");
    this.when = make("p", { style: "quiet" });
    this.ways = make("div", { style: "buttons", attributes: { role: "group", "aria-label": "Which message" } });
    this.before = button(this.ways, "◂ Before", () => this.walk(-1));
    this.next = button(this.ways, "Next ▸", () => this.walk(1));
    this.partner = button(this.ways, "Its reply", () => this.open(this.other));
    const bytes = make("div");
    this.strip = new Strip(bytes);
    const check = make("div", { attributes: { role: "group", "aria-label": "The check byte recomputed" } });
    this.check = new Check(check, this.strip);
    this.tools = make("div", { style: "opened-tools" }, check, this.hearing());
    this.element.append(this.head, this.when, this.ways, bytes, this.tools);
  }

  hearing() {
    const group = make("div", { attributes: { role: "group", "aria-label": "Hear it" } });
    const row = make("div", { style: "buttons" });
    this.slow = choice(row, "", [["1", "as fast as it is"], ["4", "at 1/4"], ["20", "at 1/20"]]);
    this.slow.setAttribute("aria-label", "How fast it is played");
    this.hear = button(row, "Hear it", () => this.play());
    group.append(row, make("p", { style: "quiet", text: "It is played as sound, not too loud." }));
    return group;
  }

  play() {
    if (this.player.playing) return this.player.stop();
    const bytes = [...Array(this.message.ff).fill(0xff), ...Strip.split(this.message.hex).map((hex) => parseInt(hex, 16))];
    const hidden = this.message.ff - this.strip.preambles;
    this.hear.textContent = "Stop";
    this.player.play(bytes, Number(this.slow.value), ({ index, part }) => this.strip.mark(index - hidden, part), () => {
      this.hear.textContent = "Hear it";
      this.strip.mark();
    });
  }

  open(message) {
    this.player.stop();
    this.check.halt();
    this.message = message;
    this.element.hidden = false;
    this.head.textContent = message.sentence;
    this.when.textContent = this.times(message);
    this.other = this.partnerOf(message);
    this.partner.hidden = !this.other;
    this.partner.textContent = message.reply_to ? "Its request" : "Its reply";
    const i = this.traffic.messages.indexOf(message);
    this.before.disabled = i <= 0;
    this.next.disabled = i + 1 >= this.traffic.messages.length;
    this.strip.show(message.boxes());
    this.tools.hidden = !message.hex;
    if (message.hex) this.check.begin();
    this.period.show(message.begin, message.end);
    for (const f of this.listeners) f();
  }

  // reveal opens a message for whoever is elsewhere in the page.
  reveal(message) {
    this.open(message);
    this.element.scrollIntoView({ block: "nearest" });
    this.element.focus({ preventScroll: true });
  }

  times(message) {
    const said = [`Message ${message.number}, at ${this.traffic.time(message.start)}`];
    if (message.hex) said.push(`${many(message.chars, "character", "characters")}, ${spanText(message.end - message.begin)} long`);
    if (message.after) said.push(`begins ${spanText(message.after)} behind its request`);
    if (message.place) said.push(message.place);
    return `${said.join("; ")}.`;
  }

  partnerOf(message) {
    if (message.reply_to) return this.traffic.byN.get(message.reply_to);
    return this.traffic.messages.find((other) => other.reply_to === message.n);
  }

  walk(by) { this.open(this.traffic.messages[this.traffic.messages.indexOf(this.message) + by]); }
}
