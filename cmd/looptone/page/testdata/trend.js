// Axes around random values are looked at, and random series drawn with a pen that writes
// down where it goes; what is wrong is printed, and how many there were.
let seed = 1;
const random = () => {
  seed = (seed * 1103515245 + 12345) % 2147483648;
  return seed / 2147483648;
};

// isRound reports whether a number is 1, 2 or 5 times a power of ten.
function isRound(step) {
  const first = step / 10 ** Math.floor(Math.log10(step) + 1e-9);
  return [1, 2, 5].some((f) => Math.abs(first - f) < 1e-6);
}

function axisFaults(lower, upper, least, most) {
  const axis = roundAxis(lower, upper, least, most), faults = [];
  const slack = 1e-6 * axis.step;
  if (axis.from > lower + slack || axis.to < upper - slack) faults.push("a value is off the axis");
  if (axis.to - axis.from < least - slack) faults.push("its ends are too near to each other");
  if (!isRound(axis.step)) faults.push("its step is not round");
  const parts = (axis.to - axis.from) / axis.step;
  if (parts > Math.max(most, 2) + 1e-6) faults.push(`${parts} parts`);
  const marks = axisMarks(axis.from, axis.to, most, axis.step);
  if (marks.length !== Math.round(parts) + 1) faults.push(`${marks.length} marks`);
  if (new Set(marks.map((m) => m.text)).size !== marks.length) faults.push("two marks read the same");
  for (const m of marks) {
    const read = Number(m.text.replace("−", "-"));
    if (Math.abs(read - m.at) > slack) faults.push(`${m.at} reads ${m.text}`);
  }
  return faults.map((f) => `${f}: ${lower} to ${upper}, ${JSON.stringify(axis)}`);
}

// A pen that writes down its lines.
function newPen() {
  const lines = [];
  return {
    lines, beginPath() {}, stroke() {},
    moveTo(x, y) { lines.push([[x, y]]); },
    lineTo(x, y) { lines.at(-1).push([x, y]); },
    rect(x, y) { lines.at(-1).dot = [x, y]; },
  };
}

// pathFaults draws a series 100 pixels wide. Every run of numbers is a line of its own; in
// every column of pixels it goes from the lowest to the highest value, and no further; and
// it has four points a column at most.
function pathFaults(values) {
  const pen = newPen(), faults = [], runs = [];
  const plot = { px: (time) => (time / values.length) * 100, py: (v) => v };
  const path = new TrendPath(pen, plot);
  let open = false;
  values.forEach((v, i) => {
    path.add(i, v);
    if (v === null) open = false;
    else if (open) runs.at(-1).push([plot.px(i), v]);
    else open = runs.push([[plot.px(i), v]]) > 0;
  });
  path.end();
  if (pen.lines.length !== runs.length) return [`${pen.lines.length} lines of ${runs.length} runs`];
  runs.forEach((run, n) => {
    const line = pen.lines[n];
    const want = extremes(run), got = extremes(line);
    if (want !== got) faults.push(`run ${n} reaches ${got}, want ${want}`);
    if (line.length > 4 * 101) faults.push(`${line.length} points for 100 columns`);
    if (run.length === 1 && !line.dot) faults.push("a single point is not seen");
  });
  return faults;
}

function extremes(points) {
  const columns = new Map();
  for (const [x, y] of points) {
    const at = columns.get(Math.floor(x)) ?? [Infinity, -Infinity];
    columns.set(Math.floor(x), [Math.min(at[0], y), Math.max(at[1], y)]);
  }
  return JSON.stringify([...columns]);
}

let done = 0;
const tell = (faults) => {
  done++;
  if (faults.length) console.log(faults.slice(0, 3).join("; "));
};
for (let n = 0; n < 2000; n++) {
  const size = 10 ** (random() * 9 - 4), lower = (random() - 0.5) * size, upper = lower + random() * size;
  tell(axisFaults(lower, n % 10 ? upper : lower, (0.01 + random()) * size, 2 + Math.floor(random() * 5)));
}
for (let n = 0; n < 200; n++) {
  const length = 1 + Math.floor(random() ** 3 * 20000), holes = n % 3 ? 0 : random();
  tell(pathFaults(Array.from({ length }, () => (random() < holes ? null : random()))));
}
console.log(`${done} drawings`);
