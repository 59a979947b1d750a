"use strict";

// clockText is line time as a clock shows it: h:mm:ss.mmm.
function clockText(seconds, digits = 3) {
  if (!Number.isFinite(seconds)) return "–";
  const unit = 10 ** digits;
  const ticks = Math.floor(Math.abs(seconds) * unit + 1e-6);
  const whole = Math.floor(ticks / unit);
  const two = (n) => String(n).padStart(2, "0");
  const sign = seconds < 0 ? "−" : "";
  const clock = `${sign}${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  return digits ? `${clock}.${String(ticks % unit).padStart(digits, "0")}` : clock;
}

// spanText is how long something lasts, in the unit that suits it: "52.3 ms", "2 s", "15 min".
function spanText(seconds) {
  const size = Math.abs(seconds);
  if (!Number.isFinite(size)) return "–";
  if (size < 0.9995) return `${threeFigures(seconds * 1000)} ms`;
  if (size < 120) return `${threeFigures(seconds)} s`;
  return `${threeFigures(seconds / 60)} min`;
}

function threeFigures(n) {
  const size = Math.abs(n);
  const digits = size >= 99.95 ? 0 : size >= 9.995 ? 1 : 2;
  return n.toFixed(digits).replace(/\.0+$|(\.\d*?)0+$/, "$1").replace("-", "−");
}

// numberText is a measured number with so many decimals and a true minus; a dash for none.
function numberText(n, decimals) {
  return n === null || n === undefined || !Number.isFinite(n) ? "–" : n.toFixed(decimals).replace("-", "−");
}

// roundStep is the smallest of 1, 2, 5 times a power of ten that is at least so much:
// the distance between marks of an axis.
function roundStep(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  for (const factor of [1, 2, 5]) {
    if (factor * power >= least * (1 - 1e-9)) return factor * power;
  }
  return 10 * power;
}

// timeStep is roundStep for line time: above ten seconds in parts of minutes, hours and
// days, as clocks have them.
function timeStep(least) {
  const day = 86400;
  if (least <= 10) return roundStep(least);
  if (least > day) return roundStep(least / day) * day;
  return [15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 21600, day / 2, day].find((step) => step >= least);
}

// firstAfter is the index of the first element whose key is above the limit, in an array
// sorted by it.
function firstAfter(array, limit, key) {
  let low = 0, high = array.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (key(array[middle]) > limit) high = middle;
    else low = middle + 1;
  }
  return low;
}
