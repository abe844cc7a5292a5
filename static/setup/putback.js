// What a file that was taken in has changed, taken back: records that came with it are deleted, values that it won against stand
// again. Both are edits like any other, so they reach the other phones too.

const KINDS = ["build", "pass", "note"];

const all = (log) => KINDS.flatMap((kind) => [...log.list(kind), ...log.list(kind, { deleted: true })]);

// The values of every record, for `putBack`.
export function asItIs(log) {
  return new Map(all(log).map(({ id, values, deleted }) => [id, { values: { ...values }, deleted }]));
}

export async function putBack(log, before) {
  for (const { id, kind, values, deleted } of all(log)) {
    const then = before.get(id);
    if (!then) {
      if (!deleted) await log.remove(id);
      continue;
    }
    const names = [...new Set([...Object.keys(values), ...Object.keys(then.values)])];
    const changed = names.filter((name) => JSON.stringify(values[name] ?? null) !== JSON.stringify(then.values[name] ?? null));
    if (changed.length) await log.save(id, kind, Object.fromEntries(changed.map((name) => [name, then.values[name] ?? null])));
    if (deleted !== then.deleted) await (then.deleted ? log.remove(id) : log.restore(id));
  }
}
