"use strict";

// Wires is the two-wire line drawn as what it is: the supply, the resistor, the pair of
// wires with its cables, the devices where they hang and the hosts where they are clipped
// on; who is dark, what each current does, and who talks at the moment that is shown.
class Wires {
  constructor(store, watch, side) {
    [this.store, this.watch, this.side] = [store, watch, side];
    this.element = document.getElementById("wires");
    this.build();
    store.on("hello", () => this.begin());
    store.on("stations", () => this.lay());
    store.on("values", (values) => this.keep(values));
    store.on("news", (news) => this.showNews(news));
    watch.on("frame", (time) => this.turn(time));
    watch.on("moved", () => this.plan && this.showValuesAt(watch.time()));
    watch.on("device", (i) => this.markOpen(i));
    look.on(() => this.layLater());
    this.element.addEventListener("keydown", (event) => this.walk(event));
  }

  build() {
    this.kept = []; // values, oldest first
    this.spoken = new Spoken();
    this.picture = html("div", "picture");
    this.svg = svg("svg", { "aria-hidden": "true", focusable: "false" });
    this.devices = html("ul", "devices");
    this.hosts = html("ul", "hosts");
    this.devices.setAttribute("aria-label", "Devices on the line");
    this.hosts.setAttribute("aria-label", "Hosts on the line");
    const heading = html("h2", "unseen", "The two-wire line");
    this.summary = html("p", "unseen");
    this.picture.append(this.svg, this.devices, this.hosts);
    this.foot = html("div", "foot");
    this.talks = html("p", "talks", "Nobody is talking.");
    this.lack = html("p", "lack");
    this.lack.hidden = true;
    this.news = html("p", "news");
    this.news.setAttribute("role", "log");
    this.foot.append(this.talks, this.lack, this.news);
    this.element.append(heading, this.summary, this.picture, this.foot);
  }

  // begin forgets what was, unless the connection only was away for a while.
  begin() {
    if (this.store.another) this.kept = [];
    this.showNews(this.store.news.at(-1));
    this.spoken = new Spoken(this.store.hello.timers);
    this.spoken.set(this.store.carriers, this.store.messages);
    this.lay();
    this.keep(this.store.values);
  }

  // keep keeps what the picture shows of values, for a view that looks back.
  keep({ time, sum_ma, devices }) {
    const brief = (devices || []).map(({ polling, mode, ma, v, dark, bursting }) => ({ polling, mode, ma, v, dark, bursting }));
    this.kept.push({ time, sum_ma, devices: brief });
    if (this.kept.length > Wires.keptValues) this.kept.shift();
    this.showValuesAt(this.watch.time());
  }

  // showValuesAt shows the values that were there at a moment; the latest ones live.
  showValuesAt(time) {
    const at = this.watch.atEdge ? this.kept.length - 1 : Math.max(0, firstAfter(this.kept, time, (v) => v.time) - 1);
    if (this.kept[at] && this.kept[at] !== this.valued) this.showValues(this.valued = this.kept[at]);
  }

  // layLater lays everything out anew before the next picture: sizes are known then.
  layLater() {
    if (this.waiting || !this.store.hello) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.lay();
    });
  }

  lay() {
    const { hello } = this.store;
    this.plan = this.fitting(hello);
    this.picture.dataset.density = this.plan.density.name;
    this.picture.style.height = `${Math.ceil(this.plan.height)}px`;
    new WireDrawing(this.svg, this.plan).draw();
    this.sum = this.svg.querySelector(".sum");
    this.drop = this.svg.querySelector(".drop");
    this.supply = this.svg.querySelector(".supply-v");
    this.layDevices();
    this.layHosts();
    this.state = undefined;
    this.valued = null;
    this.showValuesAt(this.watch.time());
    this.markOpen(this.watch.device);
    this.turn(this.watch.time());
  }

  // fitting is a plan as wide as there is room; with a scroll bar beside it, if it needs one.
  fitting({ loop, devices }) {
    const rem = parseFloat(getComputedStyle(document.documentElement).fontSize);
    const limit = Wires.scrolls.matches ? Infinity : Wires.share * document.documentElement.clientHeight;
    const hosts = new Map([...this.whoIsClipped()].map(([at, who]) => [at, who.length]));
    const planned = () => WirePlan.best({ loop, devices, hosts, width: this.picture.clientWidth, rem }, limit);
    this.element.style.overflowY = "hidden";
    const plan = planned();
    this.picture.style.height = `${Math.ceil(plan.height)}px`;
    this.element.style.overflowY = "";
    return plan.width === this.picture.clientWidth ? plan : planned();
  }

  // whoIsClipped tells which hosts are where: "resistor", "supply" or a tag.
  whoIsClipped() {
    const { loop, stations } = this.store.hello;
    const at = loop.host_at || "resistor";
    const hosts = stations.filter((s) => s.device < 0 && s.kind !== "fault" && !s.gone);
    return new Map([[at, hosts]]);
  }

  layDevices() {
    const focused = this.cards?.findIndex((c) => c.button === document.activeElement) ?? -1;
    const { devices } = this.store.hello;
    this.cards = devices.map((device) => new DeviceCard(device));
    const items = this.plan.cells.map(({ device, x, row }) => {
      const card = this.cards[device];
      const { card: y } = this.plan.rows[row];
      setPlace(card.item, x, y, this.plan.cell - 0.5 * this.plan.rem, this.plan.density.card * this.plan.rem);
      card.button.addEventListener("click", () => this.side.open(device));
      return card.item;
    });
    this.order = this.plan.cells.map(({ device }) => device);
    this.devices.replaceChildren(...items);
    this.tabTo(focused >= 0 ? focused : this.order[0]);
    if (focused >= 0) this.cards[focused]?.button.focus();
  }

  // tabTo leaves one device in the order of the tab key; arrows go on from there.
  tabTo(device) {
    this.cards.forEach((card, i) => { card.button.tabIndex = i === device ? 0 : -1; });
  }

  // walk goes from device to device with the arrow keys.
  walk(event) {
    const at = this.order?.findIndex((i) => this.cards[i].button === event.target) ?? -1;
    if (at < 0) return;
    const to = this.neighbour(at, event.key);
    if (to === undefined) return;
    event.preventDefault();
    this.tabTo(this.order[to]);
    this.cards[this.order[to]].button.focus();
  }

  neighbour(at, key) {
    const last = this.order.length - 1;
    const cells = this.plan.cells;
    const inRow = (direction) => {
      const row = cells[at].row + direction;
      const there = cells.map((c, i) => ({ i, off: Math.abs(c.x - cells[at].x), row: c.row })).filter((c) => c.row === row);
      return there.sort((a, b) => a.off - b.off)[0]?.i ?? at;
    };
    switch (key) {
      case "ArrowRight": return Math.min(at + 1, last);
      case "ArrowLeft": return Math.max(at - 1, 0);
      case "ArrowDown": return inRow(1);
      case "ArrowUp": return inRow(-1);
      case "Home": return 0;
      case "End": return last;
    }
  }

  layHosts() {
    this.chips = new Map();
    const items = [];
    for (const [at, who] of this.whoIsClipped()) {
      who.forEach((station, i) => {
        const { x, y, width } = this.hostPlace(at, i);
        const item = html("li", "host", station.name);
        item.title = `${station.name}, clipped on at ${at === "resistor" || at === "supply" ? `the ${at}` : at}`;
        setPlace(item, x, y, width, 1.6 * this.plan.rem);
        this.chips.set(station.id, item);
        items.push(item);
      });
    }
    this.hosts.replaceChildren(...items);
  }

  hostPlace(at, i) {
    const { plan } = this;
    const { rem } = plan;
    const cell = plan.cells.find((c) => plan.devices[c.device].tag === at);
    const down = i * WirePlan.chip * rem;
    if (cell) {
      const width = Math.max(plan.cell - 0.5 * rem, 9.3 * rem);
      return { x: Math.min(cell.x, plan.width - width), y: plan.rows[cell.row].card + (plan.density.card + 0.35) * rem + down, width };
    }
    if (at === "supply") return { x: 0, y: plan.top + 5.3 * rem + down, width: 9.3 * rem };
    return { x: 7.3 * rem, y: plan.top + 4.7 * rem + down, width: 9.3 * rem };
  }

  showValues(values) {
    if (!this.cards || !values) return;
    const { loop } = this.store.hello;
    values.devices.forEach((value, i) => this.cards[i]?.show(value, loop.known));
    renewText(this.sum, values.sum_ma === null ? "" : `${numberText(values.sum_ma, 2)} mA`);
    renewText(this.supply, loop.known ? `${numberText(loop.supply_v, 1)} V` : "");
    const volts = loop.resistor_ohm * values.sum_ma / 1000;
    renewText(this.drop, loop.known && loop.resistor_ohm ? `${numberText(volts, 2)} V` : "");
    this.showLack(values.devices, loop.known);
    const dark = values.devices.filter((d) => d.dark).length;
    const known = loop.known ? `Supply ${numberText(loop.supply_v, 1)} V, resistor ${loop.resistor_ohm} Ω. ` : "";
    renewText(this.summary, `${known}${values.devices.length} devices on the pair of wires, ${dark} of them dark.`);
  }

  // showLack says so where no supply could do what is shown: nobody has said at what
  // voltage a device that has too little goes dark.
  showLack(devices, known) {
    const i = known ? devices.findIndex((d) => d.v !== null && d.v < 0) : -1;
    this.lack.hidden = i < 0;
    if (i < 0) return;
    renewText(this.lack, `The supply does not reach: ${numberText(devices[i].v, 1)} V would be left for ${this.store.hello.devices[i].tag}. With a lift_off_v in the line file it goes dark.`);
    this.lack.title = this.lack.textContent;
  }

  // showNews shows what has happened last; nothing where nothing has.
  showNews(news) {
    renewText(this.news, news ? `${clockText(news.time)}  ${news.by ? `${news.by}: ` : ""}${news.says}` : "");
    this.news.title = this.news.textContent;
  }

  markOpen(device) {
    this.cards?.forEach((card, i) => card.button.setAttribute("aria-pressed", String(i === device)));
  }

  // turn shows who talks at a moment. Most pictures of the screen change nothing here.
  turn(time) {
    if (!this.plan) return;
    if (!this.watch.atEdge) this.showValuesAt(time);
    const talking = this.talkingAt(time);
    const asked = talking.length ? null : this.askedAt(time);
    const heard = this.heardByAll(talking);
    const state = `${talking.map(({ id, role }) => `${id} ${role}`).join()}|${asked}|${heard}`;
    if (state === this.state) return;
    this.state = state;
    this.showTalking(talking, asked, heard);
  }

  // talkingAt are the stations whose carrier is on at a moment, each with its role.
  talkingAt(time) {
    this.spoken.update();
    const [first, last] = this.spoken.carriersIn(time, time);
    const talking = new Map();
    for (const carrier of this.store.carriers.slice(first, last)) {
      const station = this.store.station(carrier.station);
      if (station && carrier.off > time) talking.set(station.id, { id: station.id, station, role: this.spoken.role(carrier, station), level: carrier.level });
    }
    return [...talking.values()].sort((a, b) => a.id - b.id);
  }

  // heardByAll tells whether the tones of who talks reach everybody: nobody is dark, and
  // they are strong enough, as they go on the wires and as these leave them.
  heardByAll(talking) {
    const dark = this.valued?.devices.some((d) => d.dark);
    return !dark && this.store.hello.loop.heard && talking.every(({ level }) => level >= Wires.alwaysHeard);
  }

  // askedAt is the station whose answer is waited for at a moment, or null.
  askedAt(time) {
    const { messages, hello } = this.store;
    const last = messages[firstAfter(messages, time, (m) => m.end) - 1];
    const limit = hello.timers?.slave_time_out || Wires.slaveTimeOut;
    return last?.kind === "request" && last.to >= 0 && time < last.end + limit ? last.to : null;
  }

  showTalking(talking, asked, heard) {
    this.picture.dataset.talks = talking.length > 1 ? "both" : talking[0]?.role || "";
    for (const station of this.store.hello.stations) {
      const says = talking.some(({ id }) => id === station.id) ? "talks" : station.id === asked ? "asked" : "";
      const element = station.device >= 0 ? this.cards[station.device]?.button : this.chips.get(station.id);
      if (element) element.dataset.now = says;
    }
    this.talks.dataset.kind = this.picture.dataset.talks;
    renewText(this.talks, this.sentence(talking, asked, heard));
  }

  sentence(talking, asked, heard) {
    const name = ({ kind, name }) => (kind === "device" || kind === "fault" ? name : `the ${name}`);
    const begun = (text) => text[0].toUpperCase() + text.slice(1);
    if (talking.length > 1) return `At the same time: ${talking.map(({ station }) => name(station)).join(" and ")}.`;
    if (talking.length === 1) {
      const { station, role } = talking[0];
      const hears = heard ? "; everybody on the wires hears it" : role === "trouble" ? "" : "; its tones are on the wires";
      return begun(`${name(station)} ${Wires.does[role]}${hears}.`);
    }
    const station = asked === null ? null : this.store.station(asked);
    return station ? begun(`${name(station)} has been asked and has not answered yet.`) : "Nobody is talking.";
  }
}

Wires.share = 0.38;    // of the height of the window, at most, where that can be
Wires.scrolls = matchMedia("(max-width: 62rem)"); // a narrow window, as in page.css
Wires.keptValues = 1800; // a quarter of an hour, twice a second
Wires.does = { host: "talks", device: "talks", burst: "talks unasked", trouble: "is on the wires" };
Wires.slaveTimeOut = 0.257;
Wires.alwaysHeard = 0.12; // volts peak to peak; everybody hears so much, as the line reckons

const wires = new Wires(store, watch, side);
