"use strict";

// Pages is a long list, of which a page is shown at a time; on paper, as much of it as
// somebody may want there.
class Pages {
  // item makes of a thing what stands in the list; says is about which of how many are shown.
  constructor({ list, ways, said, perPage, item, says }) {
    [this.list, this.said, this.perPage, this.item, this.says] = [list, said, perPage, item, says];
    [this.all, this.at] = [[], 0];
    this.before = button(ways, "◂ Page before", () => this.turn(-1));
    this.next = button(ways, "Next page ▸", () => this.turn(1));
    addEventListener("beforeprint", () => this.show(Pages.onPaper));
    addEventListener("afterprint", () => this.show());
  }

  // set has other things shown, from the first one on.
  set(all) {
    [this.all, this.at] = [all, 0];
    this.show();
  }

  turn(by) {
    this.at += by * this.perPage;
    this.show();
    this.list.querySelector("button")?.focus();
  }

  show(most = this.perPage) {
    const shown = this.all.slice(this.at, this.at + most);
    this.list.replaceChildren(...shown.map((thing) => this.item(thing)));
    this.said.textContent = this.says((this.at + 1).toLocaleString("en"), (this.at + shown.length).toLocaleString("en"), this.all.length);
    this.before.disabled = this.at === 0;
    this.next.disabled = this.at + most >= this.all.length;
  }
}

Pages.onPaper = 1000;
