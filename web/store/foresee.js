import { cultivarInWords } from "../words.js";

/**
 * What a record will look like once the server has taken a change; pure, so that a change is seen at once.
 *
 * @param {import("./record_store.js").Rec | null} record
 * @param {import("./record_store.js").Change} change
 */
export function foresee(record, change) {
  const before = record ?? {
    kind: change.kind,
    id: change.id,
    seq: 0,
    version: 0,
    deleted: false,
    fields: {},
  };
  const fields = { ...before.fields, ...change.fields };
  if (change.kind === "photo") fields.match = matchAfter(before.fields, change.fields ?? {});
  if (change.kind === "cultivar") fields.earlier_names = earlierNames(before.fields, fields);
  return { ...before, deleted: Boolean(change.delete), fields };
}

function matchAfter(before, edit) {
  const backInTray = before.suggested_planting_id ? "suggested" : "question";
  if (edit.set_aside === true) return "set aside";
  if (edit.planting_id) return "set by hand";
  if (edit.planting_id === null || edit.set_aside === false) return backInTray;
  return before.match;
}

/** As the server keeps them when a cultivar is renamed: all names that it had and has no more. */
export function earlierNames(before, after) {
  const [had, has] = [before, after].map((fields) => cultivarInWords({ fields }));
  const known = before.earlier_names ?? [];
  if (had === has) return known;
  const others = known.filter((name) => name !== had && name !== has);
  return had ? [...others, had] : others;
}
