// What is out of sight need not follow every step of a slider: it is drawn when the page is at rest, or when it comes into sight.

const REST = 150; // ms since the last step

// Returns `draw` for the content of `element`: at once where that is in sight, and where it is not once nothing has changed for a moment.
export function inSight(element, draw) {
  let seen = true;
  let waiting = null;
  let timer = null;
  function flush() {
    clearTimeout(timer);
    const told = waiting;
    waiting = null;
    if (told) draw(...told);
  }
  new IntersectionObserver((entries) => {
    seen = entries.at(-1).isIntersecting;
    if (seen) flush();
  }).observe(element);
  return (...told) => {
    waiting = told;
    if (seen) return flush();
    clearTimeout(timer);
    timer = setTimeout(flush, REST);
  };
}
