// What is told once more of a message and of a carrier; what is wrong is printed.
function want(what, got, wanted) {
  const [a, b] = [JSON.stringify(got), JSON.stringify(wanted)];
  if (a !== b) console.log(`${what}: got ${a} want ${b}`);
}

store.take_carrier({ n: 1, station: 0, on: 1, start: 1, off: 1.01 });
const spoken = new Spoken();
spoken.set(store.carriers, store.messages);
store.take_carrier({ n: 1, station: 0, on: 1, start: 1, off: 3 });
store.take_carrier({ n: 2, station: 1, on: 4, start: 4, off: 4.1 });
want("carriers", store.carriers.map((c) => [c.n, c.off]), [[1, 3], [2, 4.1]]);
spoken.update();
want("carriers at 2.9 s", spoken.carriersIn(2.9, 3), [0, 1]);

store.take_message({ n: 1, from: 0, kind: "request", start: 1, end: 3, sentence: "request", hex: "02" });
store.take_message({ n: 2, from: 1, kind: "reply", start: 4, end: 4.1, sentence: "reply", hex: "06" });
spoken.update();
const held = store.message(1);
store.take_message({ n: 1, from: 0, kind: "request", start: 1, end: 3, sentence: "request to PT-1", hex: "0280" });
spoken.update();
want("messages", store.messages.map((m) => [m.n, m.hex]), [[1, "0280"], [2, "06"]]);
want("whoever has the message", held.sentence, "request to PT-1");
want("the message of the carrier", spoken.message(store.carriers[0])?.sentence, "request to PT-1");

// A hello has all the news there are, those that came before it included.
const hello = { epoch: 1, line: "two", clock: { line: 5, pace: 0 }, carriers: [], messages: [], news: [{ says: "a" }, { says: "b" }] };
store.take_hello(hello);
store.take_news({ says: "c" });
store.take_hello({ ...hello, news: [{ says: "b" }, { says: "c" }] });
want("news", store.news.map((n) => n.says), ["b", "c"]);
store.take_hello({ ...hello, epoch: 2, news: [] });
want("news of another run", store.news, []);
