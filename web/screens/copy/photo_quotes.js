/** Quotes of a photo's numbers, which the server made: asked for when a number is tapped, kept for when it cannot be asked. */

import { ServerUnreachable } from "../../sync/server.js";
import { photoQuotesAddress, quotesAddress } from "../../store/season_addresses.js";

const NOT_MADE =
  "What is copied is made by the journal, and for this number it has not been brought to this device yet. Open this again when the journal can be reached.";
const OF_ANOTHER =
  "This device keeps the words for another measurement of this photo than the one shown; they come anew when the journal can be reached.";

/**
 * @param {import("../../sync/server.js").Server} server @param {Object} photo @param {Object} measurement its newest
 * @returns {{number: (key: string) => () => Promise<Object>, table: () => Promise<Object>}}
 */
export function photoQuotes(server, photo, measurement) {
  const planting = photo.fields.planting_id;
  const ask = async () => {
    const address = planting ? quotesAddress(planting) : photoQuotesAddress(photo.id);
    const answer = await server.getJson(address).catch((problem) => {
      throw problem instanceof ServerUnreachable ? new Error(NOT_MADE) : problem;
    });
    const found = answer.photos[photo.id];
    if (!found) throw new Error(NOT_MADE);
    if (found.measurement !== measurement.id) throw new Error(OF_ANOTHER);
    return found;
  };
  return {
    number: (key) => async () => {
      const made = (await ask()).quotes[key];
      if (!made) throw new Error(NOT_MADE);
      return made;
    },
    table: async () => (await ask()).copies,
  };
}
