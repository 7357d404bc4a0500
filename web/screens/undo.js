/** A way back from what was deleted or noted: said with “Undo”, which works without the server as well. */

/**
 * @param {{journal: import("../sync/journal.js").Journal, notices: {say: Function}}} context
 * @param {{kind: string, id: string}[]} records that were just deleted; put back in the opposite order
 */
export function sayDeleted({ journal, notices }, records, words) {
  const back = [...records].reverse().map(({ kind, id }) => ({ kind, id, restore: true }));
  notices.say(words, () => undo(journal, notices, back));
}

/** Deletes at once and offers the way back, so that nobody has to be asked first. */
export async function deleteWithUndo({ journal, notices }, records, words) {
  try {
    await journal.note(records.map(({ kind, id }) => ({ kind, id, delete: true })));
    sayDeleted({ journal, notices }, records, words);
  } catch (problem) {
    notices.say(problem.message);
  }
}

/** Notes changes and offers to take them back with `back`. */
export async function noteWithUndo({ journal, notices }, changes, words, back) {
  try {
    await journal.note(changes);
    sayWithUndo({ journal, notices }, words, back);
    return true;
  } catch (problem) {
    notices.say(problem.message);
    return false;
  }
}

/** Says what was done, with the way to take it back. @param {Object[]} back the changes that do so */
export function sayWithUndo({ journal, notices }, words, back) {
  notices.say(words, () => undo(journal, notices, back));
}

async function undo(journal, notices, changes) {
  try {
    const refused = await journal.applyChanges(changes);
    notices.say(refused.length ? [...new Set(refused.map(({ message }) => message))].join(" ") : "As it was.");
  } catch (problem) {
    notices.say(problem.message);
  }
}
