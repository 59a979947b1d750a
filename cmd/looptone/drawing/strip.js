"use strict";

// Strip is a message taken apart: its bytes in boxes with captions, and one sentence of
// the chosen box. Pointer, focus and arrow keys move along.
class Strip {
  constructor(element) {
    this.boxes = [];
    this.chosen = 0;
    this.list = Strip.make("div", "strip", { role: "listbox", "aria-label": "Bytes of the message", "aria-orientation": "horizontal" });
    this.sentence = Strip.make("p", "strip-sentence");
    element.append(this.list, this.sentence);
    this.list.addEventListener("keydown", (event) => this.key(event));
    this.list.addEventListener("pointerover", (event) => this.over(event));
    this.list.addEventListener("pointerdown", (event) => this.over(event));
    this.list.addEventListener("focusin", (event) => this.over(event));
  }

  static make(name, style, attributes = {}, text = "") {
    const element = document.createElement(name);
    if (style) element.className = style;
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    element.textContent = text;
    return element;
  }

  // show takes boxes in byte order, preambles first where there are any.
  show(boxes) {
    const focused = this.list.contains(document.activeElement);
    this.boxes = boxes;
    this.bytes = []; // an element a byte
    this.values = [];
    this.list.replaceChildren(...boxes.map((box, i) => this.option(box, i)));
    this.list.hidden = boxes.length === 0;
    this.choose(Math.min(Strip.first(boxes), boxes.length - 1), focused);
  }

  // first is the box that is chosen to begin with: the one behind the preambles.
  static first(boxes) { return boxes.length > 1 && boxes[0].caption === "preambles" ? 1 : 0; }

  option(box, i) {
    const option = Strip.make("div", "strip-box", {
      role: "option", id: `${Strip.id(this)}-${i}`, tabindex: "-1", "data-box": String(i),
    });
    if (box.caption === "preambles") option.classList.add("strip-preambles");
    if (box.caption === "check byte") option.classList.add("strip-check");
    const row = Strip.make("span", "strip-bytes");
    for (const hex of Strip.split(box.hex)) {
      const byte = Strip.make("span", "strip-byte", {}, hex);
      this.bytes.push(byte);
      this.values.push(parseInt(hex, 16));
      row.append(byte, " "); // it is also the option's name, read aloud
    }
    if (!row.firstChild) row.append("??"); // what is asked for
    option.append(row, Strip.make("span", "strip-caption", {}, box.caption));
    return option;
  }

  static id(strip) { return strip.id ||= `strip${Strip.count = (Strip.count || 0) + 1}`; }

  // split is hex in bytes, with blanks in it or without.
  static split(hex) { return hex.replaceAll(/[^0-9a-f]/gi, "").match(/../g) || []; }

  choose(i, focus = false) {
    const before = this.list.querySelector('[tabindex="0"]');
    before?.setAttribute("tabindex", "-1");
    before?.setAttribute("aria-selected", "false");
    this.chosen = i;
    const box = this.boxes[i], option = this.list.children[i];
    this.sentence.textContent = box ? Strip.saying(box) : "";
    if (!option) return;
    option.setAttribute("tabindex", "0");
    option.setAttribute("aria-selected", "true");
    option.setAttribute("aria-description", box.sentence);
    if (focus) option.focus();
    else this.bringIntoSight(option);
  }

  // saying is the sentence, with what it is about in front.
  static saying(box) {
    return box.sentence.startsWith(box.caption) ? box.sentence : `${box.caption}: ${box.sentence}`;
  }

  over(event) {
    const option = event.target.closest("[data-box]");
    if (!option) return;
    const i = Number(option.dataset.box);
    if (i !== this.chosen) this.choose(i, event.type === "pointerdown");
  }

  key(event) {
    const last = this.boxes.length - 1;
    const to = { ArrowLeft: this.chosen - 1, ArrowRight: this.chosen + 1, Home: 0, End: last }[event.key];
    if (to === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    this.choose(Math.min(Math.max(to, 0), last), true);
  }

  // mark shows how far along something is: the byte at an index, and how much of it is
  // over. Without an index nothing is marked.
  mark(index = -1, part = 1) {
    if (this.marked !== this.bytes[index]) {
      this.marked?.classList.remove("strip-marked");
      this.bytes[index]?.classList.add("strip-marked");
      this.marked = this.bytes[index];
      this.bringIntoSight(this.marked?.closest(".strip-box"));
    }
    this.marked?.style.setProperty("--part", `${Math.round(Math.min(part, 1) * 100)}%`);
  }

  // bringIntoSight scrolls the boxes, and nothing else, to one of them.
  bringIntoSight(box) {
    if (!box) return;
    const { top, bottom } = box.getBoundingClientRect(), seen = this.list.getBoundingClientRect();
    if (top < seen.top) this.list.scrollTop -= seen.top - top;
    else if (bottom > seen.bottom) this.list.scrollTop += bottom - seen.bottom;
  }

  // preambles is how many bytes stand before the delimiter.
  get preambles() {
    return this.boxes[0]?.caption === "preambles" ? Strip.split(this.boxes[0].hex).length : 0;
  }
}
