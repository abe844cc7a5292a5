// Build elements. Text goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

export function el(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value != null) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child != null));
  return element;
}

// Keep a length of the style as long as the element is high.
export function tellHeight(element, name) {
  new ResizeObserver(() => document.documentElement.style.setProperty(name, `${element.offsetHeight}px`)).observe(element);
}

// Set text only where it changed, so that nothing is laid out or read aloud again for nothing.
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// Build anew only what hangs on `told` (anything JSON carries), and only where that changed.
const built = new WeakMap();
export function rebuild(element, told, make) {
  const key = JSON.stringify(told);
  if (built.get(element) === key) return;
  built.set(element, key);
  element.replaceChildren(...make().filter((child) => child != null));
}

let made = 0;
export function newId(stem) {
  made += 1;
  return `${stem}-${made}`;
}
