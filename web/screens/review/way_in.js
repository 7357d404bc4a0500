/** From a planting to the verdict on its cultivar, and to its report. */

import { element, link } from "../dom.js";
import { placeOf, reportOnCultivarAddress, stateOf, verdictId, verdictScreenAddress } from "../../store/verdicts.js";
import { saidSoFar } from "./words.js";

export function wayToVerdict(store, plantingId) {
  const planting = store.get("planting", plantingId);
  const planter = store.get("planter", planting?.fields.planter_id);
  if (!planting || !planter) return null;
  const { trial_id: trialId, cultivar_id: cultivarId } = planting.fields;
  const place = placeOf(planter.fields.planter_kind);
  const fields = store.get("verdict", verdictId(trialId, cultivarId, place))?.fields ?? null;
  const isBegun = stateOf(fields) !== "not begun";
  return element(
    "section",
    {},
    element("h2", {}, "Verdict"),
    isBegun && saidSoFar(fields) && element("p", {}, saidSoFar(fields)),
    element(
      "div",
      { class: "ways" },
      link(verdictScreenAddress(trialId, cultivarId, place), { class: "secondary" }, isBegun ? "Go on with the verdict" : "Write the verdict"),
      link(reportOnCultivarAddress(trialId, cultivarId), { class: "secondary" }, "Report on it"),
    ),
  );
}
