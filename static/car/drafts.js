// What is being typed into a build: put down at every key, so that a page that is killed loses nothing. A draft is
// {typed, value}: what the field shows, and what is to be stored once it is right (missing while it is wrong).

import { recall, remember } from "../core/memory.js";

const KEY = "build.drafts"; // {build id: {"section.field": draft}}

export function draftsOf(id) {
  return recall(KEY, {})[id] ?? {};
}

export function keepDraft(id, name, draft) {
  remember(KEY, { ...recall(KEY, {}), [id]: { ...draftsOf(id), [name]: draft } });
}

export function dropDrafts(id, names) {
  const { [id]: own = {}, ...others } = recall(KEY, {});
  const left = Object.fromEntries(Object.entries(own).filter(([name]) => !names.includes(name)));
  remember(KEY, Object.keys(left).length ? { ...others, [id]: left } : others);
}

// What was right but could not be written any more when the page went away.
export async function saveLeftDrafts(builds) {
  for (const [id, drafts] of Object.entries(recall(KEY, {}))) {
    const right = Object.entries(drafts).filter(([, draft]) => draft.value !== undefined);
    if (!right.length || !builds.get(id)) continue;
    await builds.save(id, Object.fromEntries(right.map(([name, draft]) => [name, draft.value])));
    dropDrafts(id, right.map(([name]) => name));
  }
}
