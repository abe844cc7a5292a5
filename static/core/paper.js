// On paper nothing can be unfolded, so what is folded on the screen is open while it is printed.

export function unfoldOnPaper() {
  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("#place .inputs details:not(.help-box, [open])")];
    for (const fold of opened) fold.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const fold of opened) fold.open = false;
  });
}
