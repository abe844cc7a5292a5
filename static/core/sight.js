// What is out of sight need not follow every step of a slider: it is drawn when the page is at rest, or when it comes into sight.

const REST = 150; // ms, at the latest

const atRest = window.requestIdleCallback ? (work) => window.requestIdleCallback(work, { timeout: REST }) : (work) => setTimeout(work, REST);

// Returns `draw` for the content of `element`: at once where that is in sight, soon where it is not.
export function inSight(element, draw) {
  let seen = true;
  let waiting = null;
  function flush() {
    const told = waiting;
    waiting = null;
    if (told) draw(...told);
  }
  new IntersectionObserver((entries) => {
    seen = entries.at(-1).isIntersecting;
    if (seen) flush();
  }).observe(element);
  return (...told) => {
    const again = waiting;
    waiting = told;
    if (seen) flush();
    else if (!again) atRest(flush);
  };
}
