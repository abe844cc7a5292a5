// The log and the builds, opened once for the whole page, with what a killed page left behind brought in.

import { openBuilds } from "../car/store.js";
import { saveLeftDrafts } from "./drafts.js";

// -> {log, builds}
export function openPasses(app) {
  app.passes ??= openBuilds(app).then(async (builds) => {
    await builds.log.loaded;
    await saveLeftDrafts(builds.log);
    return { log: builds.log, builds };
  });
  return app.passes;
}
