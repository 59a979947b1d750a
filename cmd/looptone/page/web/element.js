"use strict";

// html is an element with a class and a text.
function html(name, className, text) {
  const element = document.createElement(name);
  if (className) element.className = className;
  if (text !== undefined) element.textContent = text;
  return element;
}

// renewText changes a text only where it is another one.
function renewText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// setPlace puts an element somewhere in its parent, in CSS pixels.
function setPlace(element, x, y, width, height) {
  Object.assign(element.style, { left: `${x}px`, top: `${y}px`, width: `${width}px`, height: `${height}px` });
}

// svg is an element of a drawing.
function svg(name, attributes, text) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  if (text !== undefined) element.textContent = text;
  return setAll(element, attributes);
}

function setAll(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}
