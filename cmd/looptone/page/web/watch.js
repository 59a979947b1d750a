"use strict";

// Watch is what is looked at: which moment, how much of the time before it, which message,
// which device. It is live, or has a cursor of its own behind the line.
//
// With simulated stations only and with the key, pausing, pace and stepping at the live
// edge stop or slow the line for everybody; else only this view.
class Watch {
  constructor(store) {
    this.store = store;
    this.span = 10;
    this.selected = null;
    this.device = null;
    this.cursor = null; // { line, wall, pace }
    this.listeners = new Map();
    store.on("hello", (hello) => this.begin(hello));
    store.on("clock", () => this.tell("moved"));
    requestAnimationFrame(() => this.turn());
  }

  // on takes selected, device, moved (it stands, goes or was moved elsewhere), span, and
  // frame: called with time() before every picture of the screen.
  on(name, f) {
    if (!this.listeners.has(name)) this.listeners.set(name, []);
    this.listeners.get(name).push(f);
  }

  tell(name, what) {
    for (const f of this.listeners.get(name) || []) f(what);
  }

  turn() {
    requestAnimationFrame(() => this.turn());
    if (this.store.hello) this.tell("frame", this.time());
  }

  // begin forgets what the line before this one showed.
  begin(hello) {
    if (!this.store.another) return;
    this.cursor = null;
    this.select(null);
    if (this.device !== null && this.device >= hello.devices.length) this.open(null);
    this.tell("moved");
  }

  // time is the line time at the right edge of the lanes.
  time() {
    const now = this.store.lineNow();
    if (!this.cursor) return now;
    const { line, wall, pace } = this.cursor;
    return Math.min(line + pace * (Store.wall() - wall), now);
  }

  // shared: what is done here at the live edge is done to the line, for everybody.
  get shared() { return Boolean(this.store.hello?.simulated && this.store.key); }

  get atEdge() { return !this.cursor; }

  // behind is how many seconds of line time this view is behind the line.
  get behind() { return this.cursor ? this.store.lineNow() - this.time() : 0; }

  // rate is how fast the view goes: 0 stands still, 1 is real time.
  get rate() {
    const line = this.store.anchor.pace;
    return this.cursor ? this.cursor.pace : line;
  }

  // looksBack puts the view at a moment, from where it goes on at a pace.
  looksBack(line, pace) {
    const begun = this.store.carriers[0]?.on ?? 0;
    this.cursor = { line: Math.max(line, Math.min(begun, this.store.lineNow())), wall: Store.wall(), pace };
    this.tell("moved");
  }

  pause() {
    if (this.atEdge && this.shared) return this.store.wish({ do: "pause" });
    this.looksBack(this.time(), 0);
  }

  go() {
    if (this.atEdge && this.shared) return this.store.wish({ do: "go" });
    if (!this.atEdge) this.looksBack(this.time(), 1);
  }

  // goLine lets the line pass at a pace, also when it stands still.
  async goLine(f) {
    const outcome = await this.store.wish({ do: "pace", pace: f });
    return outcome.ok && this.rate === 0 ? this.store.wish({ do: "go" }) : outcome;
  }

  toggle() { return this.rate === 0 ? this.go() : this.pace(0); }

  // pace: 1, or less for slow motion.
  pace(f) {
    if (f === 0) return this.pause();
    if (this.atEdge && this.shared) return this.goLine(f);
    if (f === 1 && this.atEdge) return;
    this.looksBack(this.time(), f);
  }

  // step goes to the end of the next message, or of the one before, and selects it. At
  // the live edge of a line that can be stopped, the line goes on by one.
  step(direction) {
    const messages = this.store.messages;
    const here = this.time();
    const next = firstAfter(messages, here + Watch.sameMoment, (m) => m.end);
    if (direction > 0 && next === messages.length) return this.stepLine();
    const at = direction > 0 ? next : firstAfter(messages, here - Watch.sameMoment, (m) => m.end) - 1;
    if (at < 0) return;
    this.looksBack(messages[at].end, 0);
    this.select(messages[at].n);
  }

  stepLine() {
    if (!this.shared) return this.looksBack(this.store.lineNow(), 0);
    this.live();
    return this.store.wish({ do: "step" });
  }

  // back shows what was so many seconds before this moment; less than nothing: after it.
  back(seconds) {
    const to = this.time() - seconds;
    if (to >= this.store.lineNow()) return this.live();
    this.looksBack(to, this.cursor && seconds < 0 ? this.cursor.pace : 0);
  }

  // moveTo shows a moment, standing still.
  moveTo(line) { this.back(this.time() - line); }

  // live shows what happens now, and the latest message.
  live() {
    this.select(null);
    if (!this.cursor) return;
    this.cursor = null;
    this.tell("moved");
  }

  setSpan(seconds) {
    const span = Math.min(Math.max(seconds, Watch.least), Watch.most);
    if (span === this.span) return;
    this.span = span;
    this.tell("span", span);
  }

  select(n) {
    if (n === this.selected) return;
    this.selected = n;
    this.tell("selected", n);
  }

  // open opens a device by its index; null closes it.
  open(i) {
    if (i === this.device) return;
    this.device = i;
    this.tell("device", i);
  }
}

Watch.least = 0.2; // seconds shown
Watch.most = 120;
Watch.sameMoment = 1e-6;

const watch = new Watch(store);
