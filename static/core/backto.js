// Where each screen was scrolled to, for coming back to it: by the browser's Back or Forward, or by a link that leads back.

const LONGEST = 1500; // ms until what comes late must be there
const scrolled = new Map();
let led = false;

history.scrollRestoration = "manual";
document.addEventListener("click", (event) => { led = event.target.closest?.(".back a") != null; }, { capture: true });

export function leave(address) {
  scrolled.set(address, window.scrollY);
}

// An entry of the history that was shown before bears a mark; a link makes one that bears none.
export function arrive(address) {
  const back = led || history.state?.seen === true;
  led = false;
  if (!history.state?.seen) history.replaceState({ seen: true }, "");
  window.scrollTo({ top: 0, behavior: "instant" });
  if (back && scrolled.get(address)) reach(scrolled.get(address));
}

// As soon as the screen is long enough. A hand on it ends that.
function reach(top) {
  const until = performance.now() + LONGEST;
  const held = new AbortController();
  for (const touch of ["pointerdown", "wheel", "keydown", "hashchange"]) window.addEventListener(touch, () => held.abort(), { once: true, signal: held.signal });
  const step = () => {
    if (held.signal.aborted) return;
    window.scrollTo({ top, behavior: "instant" });
    if (Math.abs(window.scrollY - top) < 2 || performance.now() > until) held.abort();
    else requestAnimationFrame(step);
  };
  step();
}
