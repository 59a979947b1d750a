"use strict";

// Hands is the panel from which the line is changed: what can be asked on it, done to a
// device, to the wires, and go wrong; and all of it back.
class Hands {
  constructor(store, watch) {
    [this.store, this.watch] = [store, watch];
    this.shown = new Shown(this);
    this.verbs = [];
    this.element = document.getElementById("hands");
    this.build();
    store.on("hello", () => this.renew());
    store.on("standing", () => this.stand());
    store.on("values", () => this.renewModes());
    store.on("ask", () => this.stand());
    store.on("key", () => this.renew());
    watch.on("device", (i) => this.choose(i));
  }

  build() {
    const make = Strip.make;
    this.noKey = make("p", "hands-key", {}, Store.noKey);
    this.element.append(make("h2", "", {}, "Hands on"), this.noKey, this.buildBack());
    this.group("Ask on the line", this.asking());
    this.group("Change a device", this.deviceVerbs());
    this.group("Change the wires", this.wireVerbs());
    this.group("Let something go wrong", [new FaultVerb(this)]);
    this.buildFaults();
    this.buildAsk();
  }

  group(title, verbs) {
    const section = Strip.make("section", "hands-group", { "aria-label": title });
    section.append(Strip.make("h3", "", {}, title), ...verbs.map((verb) => verb.element));
    this.element.append(section);
    this.verbs.push(...verbs);
    this.last = section;
  }

  // buildBack is how what was done is put back.
  buildBack() {
    const row = Strip.make("div", "hands-back");
    this.undo = new Verb(this, ["Undo the last change"], () => ({ do: "undo" }), { word: "Undo it" });
    this.undoes = Strip.make("p", "hands-undoes");
    this.restart = Strip.make("button", "", { type: "button" }, "Back to the start");
    this.restart.addEventListener("click", () => this.confirmRestart());
    this.restarts = Strip.make("p", "hands-restarts");
    row.append(this.undo.element, this.undoes, this.restart, this.restarts);
    this.verbs.push(this.undo);
    return row;
  }

  // confirmRestart asks once more: all that the class has done goes.
  confirmRestart() {
    if (this.sure) return this.doRestart();
    this.sure = true;
    this.restart.textContent = "Sure? Everything that was changed is lost";
    setTimeout(() => this.unsure(), Hands.sureMS);
  }

  unsure() {
    this.sure = false;
    this.restart.textContent = "Back to the start";
  }

  doRestart() {
    this.unsure();
    wish({ do: "restart" });
  }

  // Fields that many sentences have.

  device(label = "device") { return Field.pick(label, () => this.tags()); }

  everybody() { return Field.pick("device, or all", () => [["", "all devices"], ...this.tags()]); }

  command() { return Field.pick("for what", () => Hands.reads); }

  tags() { return (this.store.hello?.devices || []).map((d) => d.tag); }

  asking() {
    const every = () => Field.number("period in seconds, 0 for whenever there is a turn", 5, { max: 86400 });
    return [
      new Verb(this, ["Ask polling addresses 0 to ", Field.number("last polling address", 15, { max: 63, step: 1 }), " who is there"],
        (to) => ({ do: "scan", to }), { word: "Scan" }),
      new Verb(this, ["Ask ", this.device(), " once for its ", this.command()],
        (device, command) => ({ do: "send", device, command: Number(command) })),
      new Verb(this, ["Ask ", this.everybody(), " every ", every(), " s for ", this.command()],
        (device, period, command) => ({ do: "poll", device, every: period, command: Number(command) }), { word: "Poll" }),
      new Verb(this, ["Stop scanning and polling"], () => ({ do: "quiet" })),
      new Verb(this, ["Let a second master ask ", this.everybody(), " every ", every(), " s for ", this.command()],
        (device, period, command) => ({ do: "poll", as: "secondary", device, every: period, command: Number(command) }), { word: "Let it" }),
      new Verb(this, ["Take the second master off the line"], () => ({ do: "quiet", as: "secondary" })),
      new Verb(this, ["Send ", this.device(), " command ", Field.number("command number", 48, { max: 65535, step: 1 }), " with the bytes ", Field.text("data as hex", "", 60)],
        (device, command, data) => ({ do: "send", device, command, data })),
    ];
  }

  deviceVerbs() {
    this.chosen = this.device("device that is changed");
    const whom = Strip.make("p", "hands-whom");
    whom.append("Which one? ", this.chosen.element, " A click on the wires chooses it, too.");
    this.chosen.input.addEventListener("change", () => this.renew());
    const choice = { element: whom, renew: () => this.chosen.renew(), able: (yes) => { this.chosen.input.disabled = !yes; } };
    return [choice, ...this.writes(), ...this.keypad()];
  }

  get tag() { return this.chosen.value; }
  get at() { return this.tags().indexOf(this.tag); }
  get now() { return this.store.hello?.devices[this.at]; }
  get sensorUnit() { return this.now?.outputs.find((o) => o.stage === "sensor")?.unit || ""; }
  has(stage) { return Boolean(this.now?.outputs.some((o) => o.stage === stage)); }
  send(command, fields) { return { do: "send", device: this.tag, command, fields }; }
  set(key, to) { return { do: "act", action: { set: `${this.tag}.${key}`, to } }; }

  // burst are fields of a command that newer devices have for each of their messages.
  burst(fields) { return this.now?.revision >= 7 ? { ...fields, "burst message": 0 } : fields; }

  // writes are what a master writes to the device.
  writes() {
    const newer = () => this.now?.revision >= 6;
    const unit = () => Field.pick("unit", () => [this.sensorUnit]);
    const polling = () => Field.number("polling address", 9, { max: 63, step: 1 });
    return [
      new Verb(this, ["Give it polling address ", polling(), ", and its loop current is to be ", Field.pick("loop current", () => [["disabled", "parked"], ["enabled", "moving"]])],
        (address, mode) => this.send(6, { "polling address": address, "loop current mode": mode }), { when: newer }),
      new Verb(this, ["Give it polling address ", polling(), "; only at 0 its loop current moves"],
        (address) => this.send(6, { "polling address": address }), { when: () => !newer() }),
      new Verb(this, ["Hold its loop current at ", Field.number("milliamperes", 12, { max: 25 }), " mA"],
        (ma) => this.send(40, { "fixed loop current": ma })),
      new Verb(this, ["Hold its loop current no more"], () => this.send(40, { "fixed loop current": 0 })),
      new Verb(this, ["Damp it with a time constant of ", Field.number("seconds", 2, { max: 1000 }), " s"],
        (s) => this.send(34, { damping: s })),
      new Verb(this, ["Let 4 mA stand for ", Field.number("lower range value", 0, { min: -1e9 }), " and 20 mA for ", Field.number("upper range value", 20, { min: -1e9 }), " ", unit()],
        (lower, upper, u) => this.send(35, { unit: u, "upper range value": upper, "lower range value": lower })),
      new Verb(this, ["Write the message ", Field.text("message", "HELLO CLASS", 32), " into it"],
        (text) => this.send(17, { message: text.toUpperCase() })),
      new Verb(this, ["When it talks by itself, let it tell ", Field.pick("what it tells", () => Hands.bursts)],
        (command) => this.send(108, this.burst({ "command number": Number(command) }))),
      new Verb(this, ["Let it talk by itself: ", Field.pick("burst mode", () => [["1", "on"], ["0", "off"]])],
        (on) => this.send(109, this.burst({ "burst control": Number(on) }))),
    ];
  }

  // keypad is what somebody does who stands at the device.
  keypad() {
    const controls = () => this.has("controller");
    const percent = (label, value) => Field.number(label, value, { max: 100 });
    this.unit = Strip.make("span");
    return [
      new Verb(this, ["Let what it measures be ", Field.number("process value", 10, { min: -1e9 }), " ", this.unit],
        (value) => this.set("process.value", value)),
      new Verb(this, ["Switch its controller to ", Field.pick("mode", () => ["auto", "manual", "off"])], (mode) => this.set("controller.mode", mode), { when: controls }),
      new Verb(this, ["Set its set point to ", percent("set point in percent", 50), " %"], (p) => this.set("controller.set_point_percent", p), { when: controls }),
      new Verb(this, ["In manual, set its output to ", percent("output in percent", 50), " %"], (p) => this.set("controller.manual_percent", p), { when: controls }),
      new Verb(this, ["Let it be ", Field.pick("silent or heard", () => [["mute", "silent: it hears, and does not answer"], ["unmute", "heard again"]])],
        (verb) => ({ do: "act", action: { [verb]: this.tag } })),
      new Verb(this, ["Hang it ", Field.pick("where on the wires", () => [["", "in front of all"], ...this.tags().filter((t) => t !== this.tag).map((t) => [t, `behind ${t}`])])],
        (behind) => ({ do: "act", action: behind ? { move: this.tag, behind } : { move: this.tag } })),
    ];
  }

  wireVerbs() {
    const line = (key, to) => ({ do: "act", action: { set: `line.${key}`, to } });
    const cables = () => (this.store.hello?.loop.cables || []).map((c, i) => [i, c.name]);
    return [
      new Verb(this, ["Set the supply to ", Field.number("volts", 24, { max: 100 }), " V"], (v) => line("supply_v", v)),
      new Verb(this, ["Put a sense resistor of ", Field.number("ohms", 250, { max: 10000 }), " Ω in the loop"], (ohm) => line("resistor_ohm", ohm)),
      new Verb(this, ["Put a barrier of ", Field.number("ohms of the barrier", 300, { max: 10000 }), " Ω in the loop"], (ohm) => line("barrier_ohm", ohm)),
      new Verb(this, ["Make the cable ", Field.pick("cable", cables), " ", Field.number("metres", 1000, { max: 100000 }), " m long"],
        (i, m) => line(`cable[${i}].length_m`, m), { when: () => cables().length > 0 }),
    ];
  }

  // buildFaults lists what goes wrong, each with a way to mend it.
  buildFaults() {
    this.mends = new Verb(this, ["Mend ", Field.pick("fault", () => this.store.standing.faults)],
      (name) => ({ do: "act", action: { remove: name } }), { word: "Mend it", when: () => this.store.standing.faults.length > 0 });
    this.verbs.push(this.mends);
    this.last.append(this.mends.element);
  }

  buildAsk() {
    this.askFirst = Strip.make("section", "hands-group", { "aria-label": "Ask the class first" });
    const row = Strip.make("div", "hands-ask joined", { role: "group", "aria-label": "Behind every request" });
    this.askButtons = [["off", "ask nothing"], ["who", "who will answer?"], ["check byte", "what is the check byte?"]].map(([what, text]) => {
      const button = Strip.make("button", "", { type: "button", "aria-pressed": String(what === "off") }, text);
      button.addEventListener("click", () => this.askClass(what, button));
      row.append(button);
      return button;
    });
    this.askFirst.append(Strip.make("h3", "", {}, "Ask the class first"),
      Strip.make("p", "", {}, "The line stops behind every request, asks, and goes on when it was answered."), row);
    this.element.append(this.askFirst);
  }

  async askClass(what, pressed) {
    const outcome = await wish({ do: "ask", ask: what });
    if (!outcome.ok) return;
    for (const button of this.askButtons) button.setAttribute("aria-pressed", String(button === pressed));
  }

  // choose takes the device that was opened on the picture.
  choose(i) {
    if (i === null || !this.tags()[i] || this.tag === this.tags()[i]) return;
    this.chosen.input.value = this.tags()[i];
    this.chosen.input.dispatchEvent(new Event("change", { bubbles: true }));
  }

  renew() {
    for (const verb of this.verbs) verb.renew();
    this.unit.textContent = this.sensorUnit;
    const able = Boolean(this.store.key);
    this.noKey.hidden = able;
    for (const verb of this.verbs) verb.able(able);
    const real = !this.store.hello?.simulated;
    for (const button of this.askButtons) button.disabled = !able || real;
    if (this.shown.verb) this.shown.stale(this.shown.verb);
    this.stand();
  }

  renewModes() { this.mends.renew(); }

  // stand shows what was done and can be undone.
  stand() {
    const { undo, restart, faults } = this.store.standing, able = Boolean(this.store.key);
    this.undo.able(able && undo !== "");
    this.undoes.textContent = undo ? Shown.sentence(undo) : "There is nothing to undo yet.";
    this.restart.disabled = !able || restart !== "";
    this.restarts.textContent = restart ? Shown.sentence(restart) : "";
    this.restarts.hidden = !restart;
    this.mends.renew();
    this.mends.able(able && faults.length > 0);
    if (this.shown.verb === this.mends && this.mends.element.hidden) this.shown.close();
    if (this.shown.verb === this.undo) this.shown.stale(this.undo);
  }
}

Hands.sureMS = 5000;

// What devices are asked for, by the command that reads it.
Hands.reads = [
  [3, "variables and loop current"], [1, "primary variable"], [2, "loop current and percent"], [0, "identity"],
  [12, "message"], [13, "tag, descriptor and date"], [14, "sensor limits"], [15, "range and damping"], [48, "additional status"],
];
Hands.bursts = [[3, "its variables and loop current"], [1, "its primary variable"], [2, "its loop current and percent"]];

const hands = new Hands(store, watch);
