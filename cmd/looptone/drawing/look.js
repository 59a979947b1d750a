"use strict";

// Look decides between light and dark, and hands the palette to canvases. Without a
// choice it follows the system. It sets data-look on the root element.
class Look {
  constructor(root = document.documentElement) {
    this.root = root;
    this.chosen = "";
    this.listeners = [];
    this.colours = new Map();
    this.system = matchMedia("(prefers-color-scheme: dark)");
    this.system.addEventListener("change", () => this.apply());
    addEventListener("resize", () => this.changed());
    addEventListener("beforeprint", () => this.apply("light")); // canvases print what they hold
    addEventListener("afterprint", () => this.apply());
    this.apply();
  }

  get dark() { return this.root.dataset.look === "dark"; }

  // choose takes "light" or "dark"; "" follows the system again.
  choose(which) {
    this.chosen = which;
    this.apply();
  }

  apply(which = this.chosen || (this.system.matches ? "dark" : "light")) {
    this.root.dataset.look = which;
    this.changed();
  }

  // on calls f whenever colours or sizes have changed: draw anew.
  on(f) { this.listeners.push(f); }

  changed() {
    this.colours.clear();
    this.size = 0;
    for (const f of this.listeners) f();
  }

  // colour is a colour of the palette, by the name of its custom property: "--host".
  colour(name) {
    let colour = this.colours.get(name);
    if (colour === undefined) {
      colour = getComputedStyle(this.root).getPropertyValue(name).trim();
      this.colours.set(name, colour);
    }
    return colour;
  }

  // textSize is the smallest size in CSS pixels at which anything may be written.
  textSize() {
    this.size ||= 0.95 * parseFloat(getComputedStyle(this.root).fontSize);
    return this.size;
  }

  // font is a font for a canvas, as many times the smallest text as is said.
  font(times = 1, weight = "400") {
    return `${weight} ${(this.textSize() * times).toFixed(1)}px ${this.colour("--type")}`;
  }
}

const look = new Look();
