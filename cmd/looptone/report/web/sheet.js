"use strict";

// make is an element with a text: whatever is in the text, it is a text.
function make(name, { text = "", style = "", attributes = {} } = {}, ...children) {
  const element = document.createElement(name);
  if (style) element.className = style;
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.textContent = text;
  element.append(...children);
  return element;
}

// button is one that does something.
function button(parent, text, f, attributes = {}) {
  const element = make("button", { text, attributes: { type: "button", ...attributes } });
  element.addEventListener("click", f);
  parent.append(element);
  return element;
}

// choice is a list to choose from, with its label.
function choice(parent, label, options) {
  const select = make("select");
  for (const [value, text] of options) select.append(make("option", { text, attributes: { value } }));
  parent.append(make("label", { text: label }, select));
  return select;
}

// blank makes the canvas of a pen so high, and empty, with the pen set for rows of text.
function blank(pen, width, height) {
  const { canvas } = pen, ratio = devicePixelRatio || 1;
  canvas.style.height = `${height}px`;
  [canvas.width, canvas.height] = [Math.round(width * ratio), Math.round(height * ratio)];
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = look.colour("--sheet");
  pen.fillRect(0, 0, width, height);
  pen.font = look.font();
  pen.textBaseline = "middle";
}

// many is a number of things.
function many(n, one, several) { return n === 1 ? `1 ${one}` : `${n.toLocaleString("en")} ${several}`; }

// The button that turns the page light or dark.
{
  const turn = document.getElementById("look");
  const name = () => { turn.textContent = look.dark ? "Light" : "Dark"; };
  turn.addEventListener("click", () => look.choose(look.dark ? "light" : "dark"));
  look.on(name);
  name();
}
