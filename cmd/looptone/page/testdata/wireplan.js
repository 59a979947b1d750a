// Plans of random lines are laid out; what is wrong with them is printed, and how many
// there were.
let seed = 1;
const random = (n) => {
  seed = (seed * 1103515245 + 12345) % 2147483648;
  return Math.floor((seed / 2147483648) * n);
};

function line() {
  const cables = Array.from({ length: random(9) }, (_, i) => ({ name: `cable ${"x".repeat(random(20))}`, behind: random(i + 1) - 1, length_m: random(3000) }));
  const devices = Array.from({ length: random(65) }, (_, i) => ({ tag: `T-${i}`, behind: random(cables.length + 1) - 1 }));
  const at = ["resistor", "supply", devices[0]?.tag ?? "resistor"][random(3)];
  const loop = { cables, barrier_ohm: random(2) * 300, series: Array.from({ length: random(3) }, () => ({ name: "indicator", ohm: 10 })) };
  return { loop, devices, hosts: new Map([[at, random(4)]]), width: 700 + random(1200), rem: 12 + random(8) };
}

// boxes are what stands in the rows below the wires or lies along them, as intervals.
function boxes(plan) {
  const cells = plan.cells.map((c) => ({ what: plan.devices[c.device].tag, row: c.row, from: c.x, to: c.x + plan.cell }));
  const cables = plan.cables.map((c) => ({ what: c.name, row: c.row, from: c.x1, to: c.x2 }));
  const risers = plan.risers.flatMap((r) => Array.from({ length: Math.max(0, r.to - r.from - 1) }, (_, i) =>
    ({ what: "riser", row: r.from + 1 + i, from: r.x + 1, to: r.x + 1.8 * plan.rem })));
  return { solid: [...cells, ...cables], risers };
}

function wrong(plan) {
  const faults = [];
  const { solid, risers } = boxes(plan);
  const placed = plan.cells.map((c) => c.device).sort((a, b) => a - b);
  if (placed.join() !== plan.devices.map((_, i) => i).join()) faults.push(`devices ${placed}`);
  if (plan.cables.length !== plan.loop.cables.length) faults.push("a cable is missing");
  for (const [i, a] of solid.entries()) {
    if (a.from < 0 || a.to > plan.width + 0.5) faults.push(`${a.what} from ${a.from} to ${a.to} in ${plan.width}`);
    for (const b of [...solid.slice(i + 1), ...risers]) {
      if (a.row === b.row && a.from < b.to - 0.5 && b.from < a.to - 0.5) faults.push(`${a.what} and ${b.what} overlap in row ${a.row}`);
    }
  }
  plan.rows.forEach((row, i) => {
    const next = i + 1 < plan.rows.length ? plan.rows[i + 1].y : plan.height;
    if (!row.room && row.card + plan.density.card * plan.rem > next + 0.5) faults.push(`row ${i} reaches into the next one`);
  });
  return faults.concat(foldedThrough(plan));
}

// foldedThrough tells of hosts in the room that the wires go through, where these come back
// to the left below it: as high as WireDrawing draws them and Wires puts hosts.
function foldedThrough({ narrow, hosts, rows, top, rem }) {
  if (!narrow) return [];
  const wire = rows[1].y - (WirePlan.gutter + 1.2) * rem;
  return [["resistor", 4.7], ["supply", 5.3]].filter(([at, y]) =>
    hosts.get(at) > 0 && top + (y + (hosts.get(at) - 1) * WirePlan.chip + 1.6) * rem > wire).map(([at]) => `the wires go through the hosts at the ${at}`);
}

let plans = 0;
for (let n = 0; n < 500; n++) {
  const what = line();
  for (const density of WirePlan.densities) {
    const faults = wrong(new WirePlan({ ...what, density }));
    plans++;
    if (faults.length) console.log(`line ${n}, ${density.name}: ${faults.slice(0, 3).join("; ")}`);
  }
}
console.log(`${plans} plans`);
