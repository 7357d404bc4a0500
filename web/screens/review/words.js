/** The choices of a verdict in words. Pure. */

export const GROW_AGAIN_WORDS = {
  yes: "Yes",
  no: "No",
  "again elsewhere": "Again, elsewhere",
  undecided: "Undecided",
};

/** As a line in a list says it. */
export const GROWN_AGAIN_WORDS = {
  yes: "Would grow it again",
  no: "Would not grow it again",
  "again elsewhere": "Would grow it again elsewhere",
  undecided: "Undecided",
};

export const NEXT_YEAR_WORDS = {
  again: "Again",
  more: "More of it",
  drop: "Drop it",
  "try elsewhere": "Try elsewhere",
};

export const PICTURE_WORDS = {
  best: "Best",
  peak: "Peak of bloom",
  latest: "Latest",
  before: "Before",
  after: "After",
};

export const PLACE_WORDS = { container: "In containers", ground: "In the ground" };

export const ABOUT_WORDS = {
  growth: "Growth",
  flower: "Flower",
  colour: "Colour",
  upkeep: "Upkeep",
  heat: "Heat",
  "beside others": "Beside others",
  "how far to trust it": "How far to trust it",
};

/** "Would grow it again: A keeper."; empty when neither is said. */
export const saidSoFar = (fields) => [GROWN_AGAIN_WORDS[fields.grow_again], fields.one_line].filter(Boolean).join(": ");
