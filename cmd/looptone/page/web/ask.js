"use strict";

// AskDialog puts the question to the class, and says kindly what was right and why. Only
// who has the key can answer; all others read along.
class AskDialog {
  constructor(store, watch) {
    [this.store, this.watch] = [store, watch];
    this.dialog = document.getElementById("ask");
    this.dialog.removeAttribute("aria-label");
    this.dialog.setAttribute("aria-labelledby", "ask-question");
    this.build();
    store.on("ask", (ask) => this.show(ask));
    store.on("hello", () => this.begins());
    this.dialog.addEventListener("cancel", (event) => this.cancel(event));
  }

  build() {
    const make = Strip.make;
    this.question = make("h2", "ask-question", { id: "ask-question" });
    this.bytes = make("div", "ask-bytes");
    this.strip = new Strip(this.bytes);
    this.sum = make("div", "ask-sum check", { role: "group", "aria-label": "The check byte recomputed" });
    this.check = new Check(this.sum, this.strip);
    this.choices = make("div", "ask-choices", { role: "group", "aria-label": "Answers" });
    this.form = this.buildForm();
    this.verdict = make("p", "ask-verdict", { role: "status" });
    this.why = make("p", "ask-why");
    this.more = make("div", "ask-more");
    this.goes = this.button("Go on without an answer", () => wish({ do: "go" }));
    this.stops = this.button("Ask no more", () => this.stop());
    this.closes = this.button("Close", () => this.putAway());
    this.more.append(this.goes, this.stops, this.closes);
    this.noKey = make("p", "ask-key", {}, "Who has the key of this line answers for the class.");
    this.dialog.append(this.question, this.bytes, this.choices, this.form, this.verdict, this.why, this.sum, this.noKey, this.more);
  }

  buildForm() {
    const form = Strip.make("form", "ask-form");
    this.byte = Strip.make("input", "", { maxlength: "2", size: "3", pattern: "[0-9a-fA-F]{2}", autocomplete: "off", spellcheck: "false", "aria-label": "Check byte, two hex digits" });
    form.append("The check byte is", this.byte, Strip.make("button", "", { type: "submit" }, "Answer"));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.answer(this.byte.value.trim().toLowerCase());
    });
    return form;
  }

  button(text, f) {
    const button = Strip.make("button", "", { type: "button" }, text);
    button.addEventListener("click", f);
    return button;
  }

  // begins is for the line as it is told anew: another run of it counts its requests anew.
  begins() {
    if (this.store.another) this.away = undefined;
    this.show(this.store.ask);
  }

  // show shows a question as it stands: open, or closed with what was right; not one that
  // was put away.
  show(ask) {
    const anew = ask?.open && this.shown !== ask.request;
    if (!ask || ask.request === this.away || (!ask.open && this.shown !== ask.request)) return this.close();
    this.shown = ask.request;
    const mine = Boolean(this.store.key), open = ask.open && !ask.given;
    this.question.textContent = ask.text;
    this.sum.hidden = open || ask.question !== "check byte";
    this.choices.hidden = !open || ask.question !== "who";
    this.form.hidden = !open || ask.question !== "check byte";
    this.noKey.hidden = mine || !open;
    this.goes.hidden = this.stops.hidden = !mine;
    this.goes.textContent = open ? "Go on without an answer" : "Go on now";
    if (anew) this.begin(ask, mine);
    this.putVerdict(ask);
    if (!this.dialog.open) this.dialog.showModal();
    if (anew && mine) (ask.question === "who" ? this.choices.querySelector("button") : this.byte)?.focus();
    if (!open) this.closes.focus();
  }

  begin(ask, mine) {
    this.byte.value = "";
    this.byte.disabled = !mine;
    this.form.querySelector("button").disabled = !mine;
    this.choices.replaceChildren(...(ask.choices || []).map((choice) => {
      const button = this.button(choice === "nobody" ? "Nobody" : choice, () => this.answer(choice));
      button.disabled = !mine;
      return button;
    }));
    this.apart(ask.request);
  }

  // putVerdict says what was right. A wrong answer is no shame: it says why.
  putVerdict(ask) {
    const closed = !ask.open;
    this.verdict.hidden = this.why.hidden = !closed && !ask.given;
    this.verdict.classList.toggle("ask-right", closed && ask.right);
    this.why.textContent = closed ? ask.says : "";
    if (!closed) this.verdict.textContent = ask.given ? `You say: ${ask.given}. Now let us see …` : "";
    else if (!ask.given) this.verdict.textContent = `It is ${ask.answer}.`;
    else if (ask.right) this.verdict.textContent = `✓ Right: ${ask.answer}.`;
    else this.verdict.textContent = `Not quite: you said ${ask.given}, and it is ${ask.answer}.`;
    if (closed && ask.question === "check byte") this.apart(ask.request);
  }

  // apart shows the bytes. The check byte that is asked for is not among them until it was
  // answered; then it is there to be gone through how it comes about.
  async apart(n) {
    const reply = await fetch(`/message?n=${n}`);
    if (!reply.ok || this.shown !== n) return;
    const { boxes } = await reply.json();
    const { open, question } = this.store.ask;
    const asked = open && question === "check byte";
    this.strip.show(asked ? [...boxes, { hex: "", caption: "check byte", sentence: "What does it have to be?" }] : boxes);
    if (!open && question === "check byte") this.check.begin();
  }

  answer(what) { return wish({ do: "answer", answer: what }); }

  async stop() {
    this.shown = null; // what would have been right may come behind the answer to this
    await wish({ do: "ask", ask: "off" });
    this.putAway();
  }

  cancel(event) {
    event.preventDefault();
    this.putAway();
  }

  // putAway closes the question here, for good; the line waits for its answer all the same.
  putAway() {
    this.away = this.shown;
    this.close();
  }

  close() {
    if (this.dialog.open) this.dialog.close();
    this.check.halt();
  }
}

const askDialog = new AskDialog(store, watch);
