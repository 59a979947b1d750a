"use strict";

// Transport is the bar: the line's clock, how it goes and who made it stand, and the
// buttons and keys that stop it, step it and slow it.
class Transport {
  constructor(store, watch, side) {
    [this.store, this.watch, this.side] = [store, watch, side];
    this.clock = this.text("clock-now");
    this.shown = "";
    this.refusedUntil = Infinity;
    this.bindButtons();
    this.bindPanels();
    this.bindHelp();
    document.addEventListener("keydown", (event) => this.press(event));
    for (const name of ["clock", "lost", "back"]) store.on(name, () => this.showState());
    for (const name of ["hello", "key"]) store.on(name, () => this.showLine());
    store.on("refused", (outcome) => this.refuse(outcome.error));
    watch.on("moved", () => this.showState());
    watch.on("span", () => this.showSpan());
    watch.on("frame", (time) => this.turn(time));
    this.showSpan();
    this.showState();
  }

  text(id) { return document.getElementById(id); }

  bindButtons() {
    const does = {
      "toggle-button": () => this.watch.toggle(),
      "back-button": () => this.watch.step(-1),
      "step-button": () => this.watch.step(1),
      "live-button": () => this.watch.live(),
      "shorter-button": () => this.spanOn(-1),
      "longer-button": () => this.spanOn(1),
      "look-button": () => look.choose(look.dark ? "light" : "dark"),
      "help-button": () => this.help(),
      "help-print": () => print(),
    };
    for (const [id, f] of Object.entries(does)) this.text(id).addEventListener("click", f);
    this.paces = [...document.querySelectorAll("[data-pace]")];
    for (const button of this.paces) {
      button.addEventListener("click", () => this.watch.pace(Number(button.dataset.pace)));
    }
    look.on(() => this.text("look-button").setAttribute("aria-pressed", String(look.dark)));
    this.text("look-button").setAttribute("aria-pressed", String(look.dark));
  }

  bindPanels() {
    const buttons = [...document.querySelectorAll("[data-panel]")];
    for (const button of buttons) button.addEventListener("click", () => this.side.toggle(button.dataset.panel));
    this.side.on((name) => {
      for (const button of buttons) button.setAttribute("aria-expanded", String(button.dataset.panel === name));
    });
  }

  bindHelp() {
    const by = this.text("by");
    by.value = this.store.by;
    by.addEventListener("change", () => {
      this.store.by = by.value.trim();
      sessionStorage.setItem("looptone by", this.store.by);
    });
  }

  help() {
    this.text("help-shared").textContent = this.effect();
    this.text("help").showModal();
  }

  // effect says whom pausing concerns.
  effect() {
    if (!this.store.hello?.simulated) return "Something real may be on this line: it goes on by itself. Pausing, stepping and slow motion concern this view only.";
    if (!this.store.key) return "Pausing, stepping and slow motion concern this view only. Whoever has the key of the line stops it for everybody.";
    return "You hold the key of this line: pausing, stepping and slow motion stop or slow the line for everybody, and they see your name.";
  }

  // press does what a key stands for, unless somebody writes, or the key is a control's own.
  press(event) {
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    const at = event.target;
    if (at.closest("input, select, textarea, dialog, [contenteditable]")) return;
    if (event.key === " " && at.closest("button, summary, a, [role=button], [role=option], [role=radio]")) return;
    const f = Transport.keys[event.key];
    if (!f) return;
    event.preventDefault();
    f(this);
  }

  paceOn(direction) {
    const now = Transport.paceList.findIndex((p) => p <= this.watch.rate + 1e-9);
    const at = this.watch.rate === 0 ? Transport.paceList.length : now;
    this.watch.pace(Transport.paceList[Math.min(Math.max(at - direction, 0), Transport.paceList.length - 1)]);
  }

  spanOn(direction) {
    const list = Transport.spanList;
    const at = direction > 0 ? list.findIndex((s) => s > this.watch.span * 1.01) : list.findLastIndex((s) => s < this.watch.span * 0.99);
    this.watch.setSpan(list[at] ?? this.watch.span);
  }

  showSpan() { this.text("span-shown").textContent = spanText(this.watch.span); }

  showLine() {
    const hello = this.store.hello;
    document.title = `${hello.line}: the line`;
    this.text("line-shown").textContent = hello.shown || hello.line;
    this.text("key-state").textContent = this.store.key ? "You hold the key." : "You are watching.";
    this.text("key-state").title = this.effect();
    const cautions = this.text("cautions");
    cautions.replaceChildren(...(hello.cautions || []).map((text) => {
      const p = document.createElement("p");
      p.textContent = text;
      return p;
    }));
    cautions.hidden = !cautions.firstChild;
    this.showState();
  }

  // turn sets the clock, and a few times a second how far behind the view is.
  turn(time) {
    const shown = clockText(time);
    if (shown !== this.shown) this.clock.textContent = this.shown = shown;
    const wall = Store.wall();
    if (this.watch.cursor && wall - (this.lastState || 0) > 0.2) this.showState();
    if (wall > this.refusedUntil) this.refuse("");
  }

  // refuse says for a while why something was not done.
  refuse(why) {
    const refused = this.text("refused");
    this.refusedUntil = why ? Store.wall() + Transport.refusedSeconds : Infinity;
    refused.textContent = why && `Not done: ${why}.`.replace(/\.\.$/, ".");
    refused.hidden = !why;
  }

  showState() {
    this.lastState = Store.wall();
    const [kind, sentence] = this.state();
    const state = this.text("state");
    state.dataset.kind = kind;
    if (state.textContent !== sentence) state.title = state.textContent = sentence;
    this.text("bar").dataset.kind = kind;
    this.text("clock-rate").textContent = this.rateText();
    const stands = this.watch.rate === 0;
    this.text("toggle-button").textContent = stands ? "Go on" : "Pause";
    this.text("toggle-button").title = `${stands ? "Go on" : "Stand still"}: ${this.watch.atEdge && this.watch.shared ? "the line, for everybody" : "this view only"} (space)`;
    this.text("live-button").setAttribute("aria-pressed", String(this.watch.atEdge));
    for (const button of this.paces) {
      button.setAttribute("aria-pressed", String(Math.abs(Number(button.dataset.pace) - this.watch.rate) < 1e-6));
    }
  }

  rateText() {
    const rate = this.watch.rate;
    if (!this.store.connected) return "line time, last known";
    return rate === 0 ? "line time, standing" : rate === 1 ? "line time" : `line time, at ${paceText(rate)}`;
  }

  // state is how it goes: the kind of it, for the looks, and a sentence.
  state() {
    const { store, watch } = this;
    if (!store.connected) return store.hello ? ["lost", "The connection is lost; trying again. What is shown is the last that was heard."] : ["lost", "Waiting for the line."];
    if (watch.cursor) return ["view", this.viewState()];
    const { pace, by, why } = store.clock;
    if (pace === 1) return ["live", "Live, in real time."];
    const who = by ? ` by ${by}` : "";
    const reason = why && !["paused", "slow motion"].includes(why) ? `: ${why}` : "";
    return ["line", `${pace === 0 ? "Stopped" : `Slowed to ${paceText(pace)}`} for everybody${who}${reason}.`];
  }

  viewState() {
    const behind = this.watch.behind.toFixed(1);
    const how = this.watch.rate === 0 ? "stands" : this.watch.rate === 1 ? "goes" : `goes at ${paceText(this.watch.rate)}`;
    return `Only this view ${how}, ${behind} s behind the line.`;
  }
}

// paceText is a pace as a fraction of real time.
function paceText(pace) { return pace >= 1 ? "1×" : `1/${Math.round(1 / pace)}`; }

Transport.refusedSeconds = 10;
Transport.paceList = [1, 0.25, 0.05, 0.01];
Transport.spanList = [0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120];

Transport.keys = {
  " ": (t) => t.watch.toggle(),
  ".": (t) => t.watch.step(1),
  ",": (t) => t.watch.step(-1),
  "-": (t) => t.paceOn(-1),
  "+": (t) => t.paceOn(1),
  "=": (t) => t.paceOn(1), // + without shift
  "[": (t) => t.spanOn(-1),
  "]": (t) => t.spanOn(1),
  l: (t) => t.watch.live(),
  d: (t) => t.side.toggle("device"),
  t: (t) => t.side.toggle("trends"),
  h: (t) => t.side.toggle("hands"),
  Escape: (t) => t.side.hide(),
  "?": (t) => t.help(),
};

const transport = new Transport(store, watch, side);
