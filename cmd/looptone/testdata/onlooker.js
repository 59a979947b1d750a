"use strict";

// Onlooker is put into a page before its own scripts, and looks on for the tests: what is
// written on canvases and how large, which samples are played, how long pictures take; and
// it measures what stands where.
globalThis.onlooker = (() => {
  const written = new Map(); // text → smallest size in CSS pixels
  const played = [];         // { rate, samples } in the order in which they were made

  // Canvas text, with the scale that is in force.
  const fillText = CanvasRenderingContext2D.prototype.fillText;
  CanvasRenderingContext2D.prototype.fillText = function (text, ...rest) {
    const onScreen = this.canvas.width / (this.canvas.clientWidth || this.canvas.width);
    const pixels = parseFloat(/([\d.]+)px/.exec(this.font)[1]) * Math.hypot(this.getTransform().c, this.getTransform().d) / onScreen;
    if (String(text).trim()) written.set(String(text), Math.min(pixels, written.get(String(text)) ?? Infinity));
    return fillText.call(this, text, ...rest);
  };

  const copyToChannel = AudioBuffer.prototype.copyToChannel;
  AudioBuffer.prototype.copyToChannel = function (samples, ...rest) {
    played.push({ rate: this.sampleRate, samples: Array.from(samples, (s) => Math.round(s * 32767)) });
    return copyToChannel.call(this, samples, ...rest);
  };

  const named = (element) => {
    const id = element.id ? `#${element.id}` : "", style = element.getAttribute("class");
    return `${element.localName}${id}${style ? `.${style.trim().replaceAll(/\s+/g, ".")}` : ""}`;
  };

  // seen reports whether an element is there for who looks at the page.
  const seen = (element) => element.checkVisibility({ visibilityProperty: true, opacityProperty: true });

  // windowOf is the part of the screen in which an element can be seen: what its parents
  // leave of it. A parent that can be scrolled leaves all of it, if that counts as seen.
  const windowOf = (element, scrolls) => {
    let [left, top, right, bottom] = [-Infinity, -Infinity, Infinity, Infinity];
    for (let at = element; at && at !== document.documentElement; at = at.parentElement) {
      const style = getComputedStyle(at);
      if (style.clipPath !== "none" || /rect/.test(style.clip)) return null; // for screen readers alone
      const box = at.getBoundingClientRect(), free = scrolls && /auto|scroll/.test(style.overflowX + style.overflowY);
      if (free && at !== document.body) return { left, top, right, bottom };
      if (/hidden|clip|auto|scroll/.test(style.overflowX)) [left, right] = [Math.max(left, box.left), Math.min(right, box.right)];
      if (/hidden|clip|auto|scroll/.test(style.overflowY)) [top, bottom] = [Math.max(top, box.top), Math.min(bottom, box.bottom)];
      if (style.position === "fixed" || at.localName === "dialog") break;
    }
    return { left: Math.max(left, 0), top: Math.max(top, 0), right: Math.min(right, innerWidth), bottom: Math.min(bottom, innerHeight) };
  };

  // texts are all pieces of text that are seen, each with the places of its lines.
  const texts = () => {
    const open = document.querySelector("dialog[open]");
    const walker = document.createTreeWalker(open || document.body, NodeFilter.SHOW_TEXT);
    const found = [];
    while (walker.nextNode()) {
      const node = walker.currentNode, element = node.parentElement;
      if (!node.data.trim() || /^(SCRIPT|STYLE|OPTION)$/.test(element.tagName) || !seen(element)) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      found.push({ node, element, rects: [...range.getClientRects()].filter((r) => r.width > 1) });
    }
    return found;
  };

  const sizeOf = (element) => {
    const size = parseFloat(getComputedStyle(element).fontSize);
    const matrix = element.getScreenCTM?.();
    return matrix ? size * Math.hypot(matrix.c, matrix.d) : size;
  };

  const inputs = () => [...(document.querySelector("dialog[open]") || document.body).querySelectorAll("input, select, textarea")].filter(seen);

  return {
    written, played,

    // spoken are the samples of what was played, from −32767 to 32767.
    spoken: () => ({ rate: played[0].rate, samples: played.flatMap((p) => p.samples) }),

    // small are texts smaller than a part of the height of the picture.
    small(part) {
      const least = part * innerHeight - 0.01, wrong = [];
      for (const { element, node } of texts()) {
        if (windowOf(element, true) && sizeOf(element) < least) wrong.push(`${named(element)} ${sizeOf(element).toFixed(1)}px: ${node.data.trim()}`);
      }
      for (const input of inputs()) if (sizeOf(input) < least) wrong.push(`${named(input)} ${sizeOf(input).toFixed(1)}px`);
      for (const [text, pixels] of written) if (pixels < least) wrong.push(`canvas ${pixels.toFixed(1)}px: ${text}`);
      return wrong;
    },

    // covered are pieces of text that stand on each other.
    covered() {
      const lines = [];
      for (const { element, node, rects } of texts()) {
        const window = windowOf(element, false);
        if (!window) continue;
        for (const r of rects) {
          const spare = r.height * 0.2; // the height of letters is less than that of their line
          const box = { left: Math.max(r.left, window.left), right: Math.min(r.right, window.right), top: Math.max(r.top + spare, window.top), bottom: Math.min(r.bottom - spare, window.bottom) };
          if (box.right - box.left > 2 && box.bottom - box.top > 2) lines.push({ ...box, element, text: node.data.trim() });
        }
      }
      const wrong = [];
      lines.forEach((a, i) => {
        for (const b of lines.slice(i + 1)) {
          const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left), high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
          if (a.element === b.element || wide < 2 || high < 2) continue;
          const middle = [(Math.max(a.left, b.left) + Math.min(a.right, b.right)) / 2, (Math.max(a.top, b.top) + Math.min(a.bottom, b.bottom)) / 2];
          const top = document.elementFromPoint(...middle); // a panel in front hides what is behind it
          if (!top || ![a, b].some((c) => top.contains(c.element) || c.element.contains(top))) continue;
          wrong.push(`${named(a.element)} “${a.text}” and ${named(b.element)} “${b.text}”`);
        }
      });
      return wrong;
    },

    // cut are texts that are not wholly seen, and that no scroll bar, title or dots make up for.
    cut() {
      const wrong = [];
      for (const { element, node, rects } of texts()) {
        const window = windowOf(element, true);
        if (!window || getComputedStyle(element).textOverflow === "ellipsis") continue;
        const dotted = element.closest("[title]"); // the whole is told by its title
        for (const r of rects) {
          const off = Math.max(window.left - r.left, r.right - window.right, window.top - r.top - r.height * 0.2, r.bottom - r.height * 0.2 - window.bottom);
          if (off > 2 && !dotted) wrong.push(`${named(element)} by ${off.toFixed(0)}px: ${node.data.trim()}`);
        }
      }
      const root = document.documentElement;
      if (root.scrollWidth > innerWidth || root.scrollHeight > innerHeight) wrong.push(`the page is ${root.scrollWidth} × ${root.scrollHeight}`);
      return wrong;
    },

    // place is the middle of an element, where a click meets it; else it says what is in the way.
    place(element) {
      if (!element) return { why: "it is not there" };
      if (element.disabled) return { why: "it is disabled" };
      element.scrollIntoView({ block: "nearest", inline: "nearest" });
      const { left, top, width, height } = element.getBoundingClientRect();
      const x = left + width / 2, y = top + height / 2;
      const there = document.elementFromPoint(x, y);
      if (!there || !element.contains(there) && !there.contains(element)) return { why: `${there ? named(there) : "nothing"} is in its place` };
      return { x, y };
    },

    // button is the one with a text, within an element.
    button(text, within = document) {
      return [...within.querySelectorAll("button")].find((b) => seen(b) && b.textContent.trim().replaceAll(/\s+/g, " ") === text);
    },

    // colours is how many different ones are on a canvas.
    colours(canvas) {
      const copy = document.createElement("canvas");
      [copy.width, copy.height] = [canvas.width, canvas.height];
      const c = copy.getContext("2d");
      c.drawImage(canvas, 0, 0);
      return new Set(new Uint32Array(c.getImageData(0, 0, copy.width, copy.height).data.buffer)).size;
    },

    // focused tells which element has the focus, and whether that can be seen.
    focused() {
      const at = document.activeElement;
      if (!at || at === document.body) return { name: "", seen: true };
      const { outlineStyle, outlineWidth, boxShadow } = getComputedStyle(at);
      const text = (at.getAttribute("aria-label") || at.textContent).trim().slice(0, 30);
      return { name: `${named(at)} ${text}`, seen: outlineStyle !== "none" && parseFloat(outlineWidth) >= 1.5 || boxShadow !== "none" };
    },

    // pictures are the times between pictures of the screen, in milliseconds, for so many seconds.
    pictures: (seconds) => new Promise((done) => {
      const gaps = [];
      let first, last;
      const turn = (now) => {
        if (last !== undefined) gaps.push(now - last);
        [first, last] = [first ?? now, now];
        if (now - first < seconds * 1000) requestAnimationFrame(turn);
        else done(gaps);
      };
      requestAnimationFrame(turn);
    }),

    // tasks are the lengths of tasks of 50 ms and more, in milliseconds, for so many seconds.
    tasks: (seconds) => new Promise((done) => {
      const long = [];
      const observer = new PerformanceObserver((list) => long.push(...list.getEntries().map((e) => e.duration)));
      observer.observe({ type: "longtask" });
      setTimeout(() => { observer.disconnect(); done(long); }, seconds * 1000);
    }),
  };
})();
