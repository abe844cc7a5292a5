// Long work in short tasks, so that a touch gets in between.

const LONGEST_WORK = 6; // ms between two breaths

// Let the page answer: drawn, touched, stopped. A message comes back sooner than a timer.
export const breathe = () => new Promise((done) => {
  const channel = new MessageChannel();
  channel.port1.onmessage = () => {
    channel.port1.close();
    done();
  };
  channel.port2.postMessage(null);
});

// Let the page show what it has: to measure it, or to give it the focus, before it is laid out does both in one go.
export const shown = () => new Promise((done) => { requestAnimationFrame(() => breathe().then(done)); });

// Work one by one, as long as it is wanted, so that a touch gets in between.
export async function oneByOne(parts, isWanted) {
  for (const part of parts) {
    await breathe();
    if (!isWanted()) return;
    await part();
  }
}

// A clock that says when it is time to breathe.
export function breather() {
  let since = performance.now();
  return async () => {
    if (performance.now() - since < LONGEST_WORK) return;
    await breathe();
    since = performance.now();
  };
}
