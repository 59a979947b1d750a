"use strict";

// A Verb is something that can be done, as a short sentence with fields in it. What would
// be sent or done is shown first; then there is a button that does it.
class Verb {
  // parts are texts and fields; wish makes of what stands in the fields what is asked for.
  constructor(hands, parts, wish, { word = "", when } = {}) {
    [this.hands, this.parts, this.wish, this.word, this.when] = [hands, parts, wish, word, when];
    this.fields = parts.filter((part) => part instanceof Field);
    this.element = Strip.make("form", "verb");
    this.element.noValidate = true; // the program that runs the line says what is wrong, in sentences
    const sentence = Strip.make("p", "verb-sentence");
    for (const [i, part] of parts.entries()) sentence.append(...Verb.written(part, parts[i - 1], parts[i + 1]));
    this.show = Strip.make("button", "verb-show", { type: "submit", "aria-expanded": "false" }, "Show first");
    this.element.append(sentence, this.show);
    this.element.addEventListener("submit", (event) => this.submit(event));
    this.element.addEventListener("input", () => this.hands.shown.stale(this));
    this.element.addEventListener("change", () => this.hands.shown.stale(this));
  }

  // written is a part as it stands in the sentence. The word behind a number stays with it,
  // and so does the word in front of a text.
  static written(part, before, after) {
    const kind = (other) => other?.input?.type;
    if (kind(part)) return ["number", "text"].includes(kind(part)) ? [] : [part.element];
    if (typeof part !== "string") return kind(before) === "number" ? [Verb.together(before.element, part)] : [part];
    const behind = kind(before) === "number" ? /^ ?\S*/.exec(part)[0] : "";
    const rest = part.slice(behind.length);
    const front = kind(after) === "text" ? /\S* ?$/.exec(rest)[0] : "";
    const written = [rest.slice(0, rest.length - front.length)];
    if (kind(before) === "number") written.unshift(Verb.together(before.element, behind));
    if (kind(after) === "text") written.push(Verb.together(front, after.element));
    return written;
  }

  static together(...parts) {
    const together = Strip.make("span", "verb-together");
    together.append(...parts);
    return together;
  }

  submit(event) {
    event.preventDefault();
    this.hands.shown.open(this);
  }

  // name is the sentence as it stands, for who cannot see it.
  get name() {
    return this.parts.map((part) => (part instanceof Field ? part.text : part.textContent ?? part)).join("");
  }

  get asks() { return this.wish(...this.fields.map((field) => field.value)); }

  // renew fills lists anew, and hides what makes no sense for the chosen device.
  renew() {
    for (const field of this.fields) field.renew();
    this.element.hidden = this.when ? !this.when() : false;
  }

  able(yes) {
    for (const field of this.fields) field.input.disabled = !yes;
    this.show.disabled = !yes;
  }
}

// A Field is a place in a sentence to be filled in.
class Field {
  constructor(input, label, choices) {
    [this.input, this.element, this.choices] = [input, input, choices];
    input.setAttribute("aria-label", label);
    this.renew();
  }

  get value() { return this.input.type === "number" ? Number(this.input.value) : this.input.value; }

  get text() { return this.choices ? this.input.selectedOptions[0]?.textContent || "" : this.input.value; }

  // renew fills in the choices there are now, if they have changed.
  renew() {
    if (!this.choices) return;
    const list = this.choices().map((choice) => (Array.isArray(choice) ? choice : [choice, choice]));
    const as = JSON.stringify(list);
    if (as === this.as) return;
    const before = this.input.value;
    this.as = as;
    this.input.replaceChildren(...list.map(([value, text]) => Strip.make("option", "", { value }, text)));
    if (list.some(([value]) => String(value) === before)) this.input.value = before;
  }

  // pick is a choice out of a list: texts, or pairs of value and text.
  static pick(label, choices) { return new Field(Strip.make("select"), label, choices); }

  static number(label, value, { min = 0, max = 1e9, step = "any" } = {}) {
    const input = Strip.make("input", "", { type: "number", min, max, step, value, size: 6 });
    return new Field(input, label);
  }

  static text(label, value, most) {
    const input = Strip.make("input", "", { type: "text", maxlength: most, size: Math.min(most, 16), value, autocomplete: "off", spellcheck: "false" });
    return new Field(input, label);
  }
}
