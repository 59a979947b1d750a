"use strict";

// Listing is the messages as sentences, filtered by device, command, kind and time.
class Listing {
  constructor(traffic, period, opened) {
    [this.traffic, this.period, this.opened] = [traffic, period, opened];
    const element = (id) => document.getElementById(id);
    this.list = element("listing");
    this.buildFilters(element("filters"));
    this.pages = new Pages({
      list: this.list, ways: element("pages"), said: element("found"), perPage: Listing.perPage,
      item: (message) => this.item(message), says: (first, last, passed) => this.says(first, last, passed),
    });
    opened.on(() => this.mark());
    this.filter();
  }

  buildFilters(form) {
    const { traffic } = this;
    const stations = traffic.stations.map((station) => [String(station.id), station.name]);
    this.station = choice(form, "Station", [["", "all"], ...stations]);
    this.command = choice(form, "Command", [["", "all"], ...this.commands()]);
    this.kind = choice(form, "Kind", [["", "all"], ["wrong", "everything that went wrong"], ...Said.kinds.map((kind) => [kind, kind])]);
    this.from = this.moment(form, "From (s or h:mm:ss)");
    this.to = this.moment(form, "To");
    button(form, "The time shown above", () => this.take(this.period.from, this.period.to));
    button(form, "No filter", () => this.clear());
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("change", () => this.filter());
  }

  commands() {
    const known = new Map((this.traffic.commands || []).map((c) => [c.command, c.name]));
    for (const message of this.traffic.messages) if (message.command >= 0 && !known.has(message.command)) known.set(message.command, "");
    return [...known].sort(([a], [b]) => a - b).map(([number, name]) => [String(number), `${number} ${name}`.trim()]);
  }

  moment(form, label) {
    const input = make("input", { attributes: { type: "text", inputmode: "decimal", autocomplete: "off" } });
    form.append(make("label", { text: label }, input));
    return input;
  }

  take(from, to) {
    this.from.value = from.toFixed(3);
    this.to.value = to.toFixed(3);
    this.filter();
  }

  clear() {
    for (const input of [this.station, this.command, this.kind, this.from, this.to]) input.value = "";
    this.filter();
  }

  filter() {
    const from = Listing.seconds(this.from, -Infinity), to = Listing.seconds(this.to, Infinity);
    const station = this.station.value, command = this.command.value, kind = this.kind.value;
    this.pages.set(this.traffic.messages.filter((message) =>
      (!station || message.from === Number(station) || message.to === Number(station)) &&
      (!command || message.command === Number(command)) &&
      (!kind || message.kind === kind || kind === "wrong" && message.wrong) &&
      message.end >= from && message.begin <= to));
  }

  // seconds is the moment in a field; what is none is marked, and counts as empty.
  static seconds(input, otherwise) {
    const text = input.value.trim();
    const parts = text.split(":").map(Number);
    const wrong = text !== "" && (parts.length > 3 || parts.some(Number.isNaN));
    input.setAttribute("aria-invalid", String(wrong));
    return text === "" || wrong ? otherwise : parts.reduce((sum, part) => sum * 60 + part, 0);
  }

  says(first, last, passed) {
    const all = many(this.traffic.messages.length, "message", "messages");
    if (!passed) return `No message passes the filter, out of ${all} in this page.`;
    return `${first} to ${last} of ${many(passed, "message", "messages")} that pass the filter, out of ${all} in this page.`;
  }

  item(message) {
    const when = make("span", { text: this.traffic.time(message.start), style: "when" });
    const said = make("span", { text: message.sentence, style: message.wrong ? "wrong" : "" });
    const item = make("li");
    button(item, "", () => this.opened.reveal(message), { "data-n": String(message.n), "aria-pressed": String(message === this.opened.message) }).append(when, said);
    return item;
  }

  // mark shows which one is opened.
  mark() {
    const n = String(this.opened.message?.n ?? "");
    for (const each of this.list.querySelectorAll("button")) each.setAttribute("aria-pressed", String(each.dataset.n === n));
  }
}

Listing.perPage = 40;
