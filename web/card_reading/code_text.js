/** From the data words of a code to its text (ISO/IEC 18004, alphanumeric and byte mode of versions 1 to 9). */

const ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
const MODE = { alphanumeric: 0b0010, byte: 0b0100 };

/** @param {Uint8Array} words data words, without those for correction @returns {string | null} */
export function textOf(words) {
  const take = bitTaker(words);
  const mode = take(4);
  if (mode === MODE.alphanumeric) return alphanumeric(take, take(9));
  if (mode === MODE.byte) return bytes(take, take(8));
  return null;
}

function alphanumeric(take, length) {
  let text = "";
  while (length - text.length >= 2) {
    const pair = take(11);
    if (pair === null || pair >= 45 * 45) return null;
    text += ALPHANUMERIC[Math.floor(pair / 45)] + ALPHANUMERIC[pair % 45];
  }
  if (text.length === length) return text;
  const last = take(6);
  return last === null || last >= 45 ? null : text + ALPHANUMERIC[last];
}

function bytes(take, length) {
  const codes = Array.from({ length }, () => take(8));
  return codes.includes(null) ? null : String.fromCharCode(...codes);
}

/** Takes bits from the front; null once there are not enough left. */
function bitTaker(words) {
  let at = 0;
  return (count) => {
    if (at + count > words.length * 8) return null;
    let value = 0;
    for (let end = at + count; at < end; at++) value = (value << 1) | ((words[at >> 3] >> (7 - (at & 7))) & 1);
    return value;
  };
}
