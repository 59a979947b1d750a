"use strict";

// FaultVerb lets something go wrong: a kind of fault, whom it strikes, and its settings.
class FaultVerb extends Verb {
  constructor(hands) {
    const kind = Field.pick("what goes wrong", () => (hands.store.hello?.kinds || []).map((k) => k.kind));
    super(hands, ["Let there be ", kind], () => this.action());
    this.kind = kind;
    this.does = Strip.make("p", "fault-does");
    this.settings = Strip.make("p", "fault-settings verb-sentence");
    this.show.before(this.settings, this.does);
    kind.input.addEventListener("change", () => this.choose());
    this.settings.addEventListener("change", () => this.renew());
  }

  get chosen() { return this.hands.store.hello?.kinds.find((k) => k.kind === this.kind.value); }

  renew() {
    super.renew();
    if (this.chosen && this.filled !== this.chosen.kind) this.choose();
    this.whom?.renew();
    for (const { field } of this.own || []) field.renew();
  }

  // choose lays out what the chosen kind can be told.
  choose() {
    const k = this.chosen;
    if (!k) return;
    this.filled = k.kind;
    this.does.textContent = k.does;
    this.whom = this.struck(k.strikes);
    this.own = k.settings.map((s) => ({ key: s.key, field: this.setting(s) }));
    this.settings.replaceChildren();
    if (this.whom) this.settings.append("It strikes ", this.whom.element, " ");
    for (const [i, { field }] of this.own.entries()) this.settings.append(FaultVerb.label(k.settings[i], field));
    this.able(Boolean(this.hands.store.key));
  }

  // label is a setting with its words.
  static label(setting, field) {
    const label = Strip.make("label", "fault-setting");
    label.append(`${FaultVerb.words(setting.key)} `, field.element);
    label.title = setting.says;
    return label;
  }

  // words are the key of a setting as one says it: "every, in s".
  static words(key) {
    return key.replace(/_(s|ms|v|chars|bits|bytes)$/, (_, unit) => `, in ${FaultVerb.units[unit] || unit}`).replaceAll("_", " ");
  }

  struck(strikes) {
    if (strikes === "device") return Field.pick("whom it strikes", () => this.hands.tags());
    if (strikes !== "talker") return null;
    const others = () => this.hands.store.hello.stations.filter((s) => s.kind === "master" && !s.gone).map((s) => s.name);
    return Field.pick("whom it strikes", () => [["", "whoever talks"], ...this.hands.tags(), ...new Set(others()), ["host", "every host outside"]]);
  }

  setting(s) {
    const words = `${FaultVerb.words(s.key)}: ${s.says}`;
    if (s.key === "with") return Field.pick(words, () => this.hands.tags().filter((tag) => tag !== this.whom.value));
    if (s.key === "behind") return Field.pick(words, () => [["", "in front of all devices"], ...this.hands.tags()]);
    return Field.number(words, s.default || FaultVerb.needed, { min: -1e9 });
  }

  action() {
    const fault = { kind: this.kind.value };
    if (this.whom?.value) fault[this.chosen.strikes] = this.whom.value;
    for (const [i, { key, field }] of (this.own || []).entries()) {
      const usual = field.choices ? "" : this.chosen.settings[i].default;
      if (String(field.input.value) !== usual) fault[key] = field.value;
    }
    return { do: "act", action: { fault } };
  }

  able(yes) {
    super.able(yes);
    for (const field of [this.whom, ...(this.own || []).map((o) => o.field)]) if (field) field.input.disabled = !yes;
  }
}

// What stands first in a setting that has to be given.
FaultVerb.needed = "30";
FaultVerb.units = { v: "V", chars: "characters" };
