"use strict";

// Shown is what would be sent or done, under the sentence that it belongs to: a message as
// a strip of its bytes, an action as it is written, a caution where there is one; and the
// button that does it.
class Shown {
  constructor(hands) {
    this.hands = hands;
    this.verb = null;
    this.asked = 0;
    this.element = Strip.make("div", "shown");
    this.says = Strip.make("p", "shown-says", { role: "status" });
    const bytes = Strip.make("div", "shown-bytes");
    this.strip = new Strip(bytes);
    this.action = Strip.make("p", "shown-action");
    this.caution = Strip.make("p", "shown-caution", { role: "alert" });
    this.buttons = Strip.make("div", "shown-buttons");
    this.does = Strip.make("button", "shown-do", { type: "button" });
    this.closes = Strip.make("button", "", { type: "button" }, "Not now");
    this.buttons.append(this.does, this.closes);
    this.does.addEventListener("click", () => this.act());
    this.closes.addEventListener("click", () => this.close(true));
    this.element.addEventListener("keydown", (event) => this.key(event));
    this.element.append(this.says, bytes, this.action, this.caution, this.buttons);
  }

  key(event) {
    if (event.key !== "Escape") return;
    event.preventDefault(); // the panel stays
    this.close(true);
  }

  // open asks what would be done, and shows it.
  async open(verb) {
    if (this.verb !== verb) this.close();
    this.verb = verb;
    verb.show.setAttribute("aria-expanded", "true");
    this.put({ ok: true, says: "" });
    this.does.disabled = true;
    verb.element.append(this.element);
    await this.preview();
    if (this.verb === verb && !this.does.disabled) this.does.focus();
  }

  async preview() {
    const asked = ++this.asked, verb = this.verb;
    const outcome = await wish({ ...verb.asks, preview: true });
    if (asked !== this.asked || verb !== this.verb) return;
    this.put(outcome);
    this.does.disabled = !outcome.ok;
    this.does.textContent = verb.word || (outcome.hex ? "Send it" : "Do it");
  }

  put(outcome) {
    this.element.classList.toggle("shown-wrong", !outcome.ok);
    this.says.textContent = outcome.ok ? Shown.sentence(outcome.says) : Shown.sentence(outcome.error);
    this.strip.show(outcome.boxes || []);
    this.strip.sentence.hidden = !outcome.boxes?.length;
    this.action.textContent = outcome.action || "";
    this.caution.textContent = outcome.caution || "";
    this.caution.hidden = !outcome.caution;
    this.action.hidden = !outcome.action;
    this.yes = Boolean(outcome.caution);
  }

  // sentence is a sentence as it stands by itself. What begins with the name of a field, or
  // of a setting, keeps that as it is.
  static sentence(text) {
    const first = /^[a-z]+(?= )/.test(text) ? text[0].toUpperCase() + text.slice(1) : text;
    return text && first + (/[.?!]$/.test(text) ? "" : ".");
  }

  // stale shows anew what would be done, when something else was filled in.
  stale(verb) {
    if (this.verb !== verb) return;
    this.wait();
    clearTimeout(this.waits);
    this.waits = setTimeout(() => this.verb === verb && this.preview(), Shown.pauseMS);
  }

  // wait keeps from being done what is not shown. A button that is disabled loses the focus.
  wait() {
    if (document.activeElement === this.does) this.closes.focus();
    this.does.disabled = true;
  }

  async act() {
    const verb = this.verb;
    this.wait();
    const outcome = await wish({ ...verb.asks, yes: this.yes });
    if (this.verb !== verb) return;
    if (!outcome.ok) return this.put(outcome);
    this.close(true);
  }

  // close takes away what is shown; focus goes back to where it was asked for.
  close(focus = false) {
    const verb = this.verb;
    if (!verb) return;
    this.verb = null;
    this.asked++;
    verb.show.setAttribute("aria-expanded", "false");
    this.element.remove();
    if (focus) verb.show.focus();
  }
}

Shown.pauseMS = 250;
