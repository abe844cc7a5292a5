// The log and the builds, opened once for the whole page.

import { openBuilds } from "../car/store.js";

// -> {log, builds}
export function openPasses(app) {
  app.passes ??= openBuilds(app).then(async (builds) => {
    await builds.log.loaded;
    return { log: builds.log, builds };
  });
  return app.passes;
}
