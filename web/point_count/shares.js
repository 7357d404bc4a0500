/** What a count says by itself, for when the journal cannot be asked: the server's rules (`analysis/point_count.py`). Pure. */

/** Standard normal quantile that bounds a 90 % interval. */
const Z_90 = 1.6448536269514722;
/** Below so many points on the plant, a share within the plant says next to nothing. */
export const LEAST_PLANT_POINTS = 10;

/** A share with its score interval (Wilson 1927). @returns {{value: number, low: number, high: number}} */
export function wilson(successes, trials, z = Z_90) {
  const share = successes / trials;
  const square = (z * z) / trials;
  const middle = (share + square / 2) / (1 + square);
  const half = (z * Math.sqrt((share * (1 - share)) / trials + square / (4 * trials))) / (1 + square);
  return {
    value: share,
    low: Math.min(share, Math.max(0, middle - half)),
    high: Math.max(share, Math.min(1, middle + half)),
  };
}

/**
 * @param {string} answers of all counts of a photo
 * @returns {{name: string, words: string, counted: Object | null, reason: string | null}[]}
 */
export function sharesOf(answers) {
  const of = (letters) => [...answers].filter((letter) => letters.includes(letter)).length;
  const [plant, all] = [of("bsf"), of("bsfo")];
  const within = (name, words, count) =>
    plant < LEAST_PLANT_POINTS
      ? { name, words, counted: null, reason: fewOnThePlant(plant) }
      : { name, words, counted: wilson(count, plant), reason: null };
  const fill = all ? wilson(plant, all) : null;
  return [
    { name: "canopy_fill", words: "canopy fill", counted: fill, reason: fill ? null : "no point was answered" },
    within("bloom_cover", "bloom cover", of("b")),
    within("spent_share", "spent share", of("s")),
  ];
}

const fewOnThePlant = (plant) =>
  plant ? `only ${plant} points lie on the plant; it takes ${LEAST_PLANT_POINTS}` : "no point lies on the plant";
