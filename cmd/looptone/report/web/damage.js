"use strict";

// Damages lists what was damaged or noise, with its bytes and what was wrong, and the
// requests that nobody answered.
class Damages {
  constructor(traffic, element, opened) {
    [this.traffic, this.opened] = [traffic, opened];
    const wrong = traffic.messages.filter((message) => message.wrong);
    const { damaged, noise, unanswered } = traffic.counts;
    const sums = `${many(damaged, "message", "messages")} damaged, ${many(noise, "time", "times")} noise, ${many(unanswered, "request", "requests")} without an answer.`;
    element.append(make("p", { text: sums }));
    if (!wrong.length) return;
    const list = make("ol", { style: "damages" });
    const ways = make("div", { style: "buttons", attributes: { role: "group", "aria-label": "Pages of the damage" } });
    const said = make("p", { style: "quiet", attributes: { role: "status" } });
    element.append(said, list, ways);
    const pages = new Pages({
      list, ways, said, perPage: Damages.perPage, item: (message) => this.item(message),
      says: (first, last, all) => `${first} to ${last} of ${all.toLocaleString("en")} that are in this page.`,
    });
    pages.set(wrong);
  }

  item(message) {
    const item = make("li"), { opened } = this;
    const when = make("span", { text: `${this.traffic.time(message.start)}  `, style: "quiet" });
    const what = make("span", { text: this.what(message), style: "wrong" });
    const row = make("div", { style: "damage-head" }, make("div", {}, when, what));
    button(row, "Show it", () => opened.reveal(message), { "aria-label": `Show it: message ${message.number}, in the lanes` });
    item.append(row);
    if (message.hex) item.append(this.bytes(message));
    return item;
  }

  what(message) {
    if (!message.hex || !message.why) return message.sentence;
    const from = this.traffic.name(message.from), to = this.traffic.name(message.to);
    const who = to ? `${from} → ${to}: ` : from ? `${from}: ` : "";
    return `${who}${message.why}${message.place ? ` ${message.place}` : ""}`;
  }

  // bytes are all of them, the wrong one marked.
  bytes(message) {
    const code = make("code");
    const all = Strip.split(message.hex), shown = all.slice(0, Damages.most);
    shown.forEach((hex, i) => code.append(i === message.wrongAt ? make("mark", { text: hex }) : hex, " "));
    if (all.length > shown.length) code.append(`… ${all.length - shown.length} more`);
    return code;
  }
}

Damages.perPage = 25;
Damages.most = 300; // bytes of one
