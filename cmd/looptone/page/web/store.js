"use strict";

// Store holds what the server has told: the line as it is, and the last minutes of it.
// Names to listen for: hello, clock, carrier, message, values, stations, standing, news,
// ask, lost, back, key, refused.
class Store {
  constructor() {
    this.hello = null;
    this.another = true; // the last hello was of another run of the line than the one before
    this.clock = { line: 0, pace: 0, by: "", why: "" };
    this.carriers = []; // oldest first
    this.messages = []; // by n
    this.news = [];     // oldest first
    this.values = { time: 0, sum_ma: null, devices: [] };
    this.standing = { faults: [], undo: "", restart: "", scan: false, polls: [] };
    this.ask = null;
    this.connected = false;
    this.key = Store.takeKey();
    this.by = sessionStorage.getItem("looptone by") || "";
    this.listeners = new Map();
    this.numbered = new Map();
    this.anchor = { line: 0, wall: 0, pace: 0, off: 0 };
  }

  // takeKey reads the key from the address, and keeps it out of sight of the class.
  static takeKey() {
    const hash = new URLSearchParams(location.hash.slice(1));
    if (hash.has("key")) {
      sessionStorage.setItem("looptone key", hash.get("key"));
      hash.delete("key");
      history.replaceState(null, "", `${location.pathname}#${hash}`.replace(/#$/, ""));
    }
    return sessionStorage.getItem("looptone key") || "";
  }

  on(name, f) {
    if (!this.listeners.has(name)) this.listeners.set(name, []);
    this.listeners.get(name).push(f);
  }

  tell(name, what) {
    for (const f of this.listeners.get(name) || []) f(what);
  }

  // connect listens to the server, again and again when it has gone.
  connect() {
    const source = new EventSource("/events");
    for (const name of Store.events) {
      source.addEventListener(name, (event) => this.take(name, JSON.parse(event.data)));
    }
    source.addEventListener("error", () => {
      this.lose();
      if (source.readyState === EventSource.CLOSED) setTimeout(() => this.connect(), Store.retryMS);
    });
    addEventListener("pagehide", () => source.close(), { once: true });
  }

  lose() {
    if (!this.connected) return;
    this.setClock({ ...this.clock, line: this.lineNow(), pace: 0 });
    this.connected = false;
    this.tell("lost");
  }

  take(name, what) {
    this[`take_${name}`](what);
    const back = name === "hello" && !this.connected;
    this.connected = true;
    this.tell(name, what);
    if (back) this.tell("back");
  }

  // take_hello begins anew: whatever was here is stale. It is another run of the line when
  // it is not the one from before the connection was lost.
  take_hello(hello) {
    const before = this.hello;
    this.another = !before || before.epoch !== hello.epoch || before.line !== hello.line || hello.clock.line < this.lineNow() - 0.5;
    this.hello = hello;
    this.carriers = hello.carriers || [];
    this.messages = hello.messages || [];
    this.numbered = new Map(this.messages.map((m) => [m.n, m]));
    this.values = hello.values;
    this.standing = hello.standing;
    this.ask = hello.ask;
    this.news = hello.news || [];
    this.anchor.wall = 0;
    this.setClock(hello.clock);
  }

  take_clock(clock) { this.setClock(clock); }

  // take_carrier puts one that has become longer where it was.
  take_carrier(carrier) {
    const last = this.carriers.at(-1);
    if (last?.n === carrier.n) Object.assign(last, carrier);
    else this.carriers.push(carrier);
    this.carriers.splice(0, Store.stale(this.carriers, (c) => c.off, carrier.off));
  }

  // take_message puts what is told of a message once more where it was told first.
  take_message(message) {
    const before = this.numbered.get(message.n);
    if (before) {
      Object.assign(before, message);
      return;
    }
    this.messages.push(message);
    this.numbered.set(message.n, message);
    const gone = this.messages.splice(0, Store.stale(this.messages, (m) => m.end, message.end));
    for (const m of gone) this.numbered.delete(m.n);
  }

  // stale is how many at the beginning of an array are older than is kept; none as long
  // as they are few.
  static stale(array, end, now) {
    const old = firstAfter(array, now - Store.keptSeconds, end);
    return old > 200 ? old : 0;
  }

  take_values(values) { this.values = values; }
  take_stations(stations) { this.hello.stations = stations; }
  take_standing(standing) { this.standing = standing; }
  take_ask(ask) { this.ask = ask; }

  take_news(news) {
    this.news.push(news);
    if (this.news.length > 200) this.news.shift();
  }

  message(n) { return this.numbered.get(n); }
  station(id) { return this.hello?.stations.find((s) => s.id === id); }

  // setClock goes on from here. What the network was late by is taken up little by
  // little, so that the picture does not jump; a line that stands stands where it does.
  setClock(clock) {
    const wall = Store.wall();
    const off = this.anchor.wall && clock.pace > 0 ? this.lineNow() - clock.line : 0;
    this.anchor = { line: clock.line, wall, pace: clock.pace, off: Math.abs(off) < 0.25 ? off : 0 };
    this.clock = clock;
  }

  // lineNow is the time of the line now, in seconds.
  lineNow() {
    const { line, wall, pace, off } = this.anchor;
    const gone = Store.wall() - wall;
    return line + pace * gone + off * Math.exp(-gone / 0.4);
  }

  static wall() { return performance.now() / 1000; }

  // trend is what is kept of a device: { time, pv, percent, ma }. Trends fills it.
  trend(i) {
    this.trends ||= [];
    return this.trends[i] ||= { time: [], pv: [], percent: [], ma: [] };
  }

  // wish asks the server to do something. A refusal is told to whoever listens, unless
  // it was only a preview.
  async wish(wish) {
    const outcome = await this.post({ by: this.by, ...wish });
    if (!outcome.ok && !wish.preview) this.tell("refused", outcome);
    return outcome;
  }

  // loseKey is for a key that is not this line's: the program was started anew.
  loseKey() {
    this.key = "";
    sessionStorage.removeItem("looptone key");
    this.tell("key");
  }

  async post(wish) {
    try {
      const reply = await fetch("/do", {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-Looptone-Key": this.key },
        body: JSON.stringify(wish),
      });
      if (reply.status === 403) this.loseKey();
      const text = await reply.text();
      return text.startsWith("{") ? JSON.parse(text) : { ok: false, error: text.trim() || reply.statusText };
    } catch {
      return { ok: false, error: "the program that runs the line does not answer" };
    }
  }
}

Store.events = ["hello", "clock", "carrier", "message", "values", "stations", "standing", "news", "ask"];
Store.keptSeconds = 900;
Store.retryMS = 1000;

// Why a control that changes the line is disabled for whoever has no key.
Store.noKey = "Only who has the key of this line can do this: the address that the program printed.";

const store = new Store();

// wish asks the server: an Outcome comes back, whatever happens.
const wish = (what) => store.wish(what);
