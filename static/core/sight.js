// What need not follow every step of a slider: what is out of sight is drawn when the page is at rest, or when it comes into sight.

const REST = 150; // ms since the last step

// One timer for all that waits: it is not set anew with each step, but looks, when it rings, how long ago the last one was.
const waiting = new Set();
let last = 0;
let timer = null;

function wait(done) {
  waiting.add(done);
  last = performance.now();
  timer ??= setTimeout(ring, REST);
}

// One part a task: together they would keep the page busy too long. One that fails does not keep the others from being drawn.
function ring() {
  const left = last + REST - performance.now();
  try {
    if (left <= 0) waiting.values().next().value?.();
  } finally {
    timer = waiting.size ? setTimeout(ring, Math.max(left, 0)) : null;
  }
}

// Returns {later, now}: `later(...told)` calls `draw` with the newest of what it was told once nothing has changed for a moment,
// `now()` without waiting.
export function atRest(draw) {
  let told = null;
  function now() {
    waiting.delete(now);
    const newest = told;
    told = null;
    if (newest) draw(...newest);
  }
  return { now, later: (...newest) => { told = newest; wait(now); } };
}

// Returns `draw` for the content of `element`: at once where that is in sight, and where it is not once nothing has changed for a moment.
export function inSight(element, draw) {
  let seen = true;
  const rest = atRest(draw);
  new IntersectionObserver((entries) => {
    seen = entries.at(-1).isIntersecting;
    if (seen) rest.now();
  }).observe(element);
  return (...told) => {
    rest.later(...told);
    if (seen) rest.now();
  };
}
