"use strict";

// Side is the panel on the right: one device, the trends, or hands on; or nothing, and
// the line has the whole width. Whoever opens a device sees it there.
class Side {
  constructor(watch) {
    this.watch = watch;
    this.element = document.getElementById("side");
    this.shown = "";
    this.listeners = [];
    watch.on("device", (i) => this.follow(i));
    this.element.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !event.defaultPrevented) this.hide();
    });
  }

  // on calls f with the name of what is shown, "" for nothing.
  on(f) { this.listeners.push(f); }

  // follow shows the device that was opened; with hands on, it is the one to do something to.
  follow(i) {
    if (i === null && this.shown === "device") this.hide();
    if (i !== null && this.shown !== "hands") this.show("device");
  }

  // open opens a device that was clicked on, also when it was open behind something else.
  open(device) {
    this.watch.open(device);
    this.follow(device);
  }

  toggle(name) { return this.shown === name ? this.hide() : this.show(name); }

  show(name) {
    if (this.shown === name) return;
    if (name === "device" && this.watch.device === null) this.watch.open(0);
    if (this.shown !== name) this.put(name);
  }

  hide() {
    if (!this.shown) return;
    const button = document.querySelector(`#bar [aria-controls="${this.shown}"]`);
    const within = this.element.contains(document.activeElement);
    this.put("");
    if (within) button?.focus();
  }

  put(name) {
    const closed = this.shown === "device" && !name;
    this.shown = name;
    for (const part of this.element.children) part.hidden = part.id !== name;
    this.element.hidden = name === "";
    document.body.classList.toggle("with-side", name !== "");
    if (closed) this.watch.open(null);
    for (const f of this.listeners) f(name);
    look.changed(); // what is drawn has another width now
  }
}

const side = new Side(watch);
