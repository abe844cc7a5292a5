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

// Draw a part anew without dropping the focus: it goes to the same control, or to the heading of the screen.
export function keepFocus(box, draw) {
  const had = box.contains(document.activeElement) ? document.activeElement : null;
  draw();
  if (had === null || had.isConnected) return;
  const isSame = (one) => (had.type === "radio" ? one.checked && one.name === had.name : one.textContent === had.textContent && one.getAttribute("href") === had.getAttribute("href"));
  ([...box.querySelectorAll(had.localName)].find(isSame) ?? document.querySelector("main h1"))?.focus({ preventScroll: true });
}

// Said where the log takes long to open.
export const openingLog = () => el("p", { class: "late" }, "Opening the log…");

// Set text only where it changed, so that nothing is laid out or read aloud again for nothing. A text that is there already is
// changed in place: a slider does so with every frame, and a new node costs the browser more.
export function say(element, text) {
  if (element.textContent === text) return;
  const only = element.firstChild;
  if (only?.nodeType === Node.TEXT_NODE && only === element.lastChild) only.data = text;
  else element.textContent = text;
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
