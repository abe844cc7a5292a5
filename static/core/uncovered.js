// What is typed in, and the line that says what is wrong with it, stay clear of what stands over the page at its foot: the bar, the
// way back, a button at the thumb, a phone's keyboard. A browser sees to a field as it gets the focus, not to what comes after.

const TYPED = "#place input:not([type=range], [type=radio], [type=checkbox]), #place textarea";

// `foot`: the line over the bar that comes and goes.
export function keepUncovered(foot) {
  new ResizeObserver(clear).observe(foot);
  const grown = new ResizeObserver(clear); // by the line that says what is wrong
  document.addEventListener("focusin", ({ target }) => {
    grown.disconnect();
    if (target.matches(TYPED)) grown.observe(boxOf(target));
  });
}

const boxOf = (input) => input.closest(".field") ?? input.closest("section, div");

function clear() {
  const at = document.activeElement;
  if (!at?.closest("#place") || at.matches("h1, #place, [type=range]")) return;
  const wrong = at.matches(TYPED) ? [...boxOf(at).querySelectorAll(".error:not([hidden])")] : [];
  const { top, bottom } = clearOf();
  const below = Math.max(...[at, ...wrong].map((one) => one.getBoundingClientRect().bottom)) - bottom;
  const room = at.getBoundingClientRect().top - top; // where not all of it has room, the field comes first
  if (below > 0 && room > 0) window.scrollBy({ top: Math.min(below, room), behavior: "instant" });
}

// What of the window the style keeps free of head and foot, and a keyboard leaves.
function clearOf() {
  const root = document.documentElement;
  const { scrollPaddingTop, scrollPaddingBottom } = getComputedStyle(root);
  const bottom = root.clientHeight - parseFloat(scrollPaddingBottom);
  const { visualViewport: seen } = window;
  return { top: parseFloat(scrollPaddingTop), bottom: seen?.scale === 1 ? Math.min(bottom, seen.height) : bottom };
}
