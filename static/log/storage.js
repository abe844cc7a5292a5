// How safe this browser's storage is for the log, and how full.

// Returns {persisted: true, false or null where the browser does not say, used, quota: bytes or null}.
export async function storageState({ ask = false } = {}) {
  const storage = navigator.storage;
  if (!storage?.persisted) return { persisted: null, used: null, quota: null };
  const persisted = (await storage.persisted()) || (ask && (await storage.persist()));
  const { usage = null, quota = null } = (await storage.estimate?.()) ?? {};
  return { persisted, used: usage, quota };
}

// Opened from the home screen, a page's storage is not thrown away after a week without use, as some browsers do otherwise.
export function isInstalled() {
  return window.matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
}
