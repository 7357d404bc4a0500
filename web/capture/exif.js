/**
 * Writes the moment of taking into a JPEG that has no Exif of its own, such as one drawn from the viewfinder
 * (CIPA DC-008, Exif 2.32: the APP1 segment stands right after the start of the image).
 */

const START_OF_IMAGE = 0xffd8;
const APP1 = 0xffe1;
const START_OF_SCAN = 0xffda;
const EXIF_MARK = "Exif\0\0";
const TIFF_START = "MM\0*";

const TYPE = { ascii: 2, short: 3, long: 4, undefined: 7 };
const TAG = {
  orientation: 0x0112,
  exifDirectory: 0x8769,
  exifVersion: 0x9000,
  dateTimeOriginal: 0x9003,
  offsetTimeOriginal: 0x9011,
  subSecTimeOriginal: 0x9291,
};

const MOMENT = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)(?:\.(\d{1,3}))?([+-]\d\d:\d\d|Z)$/;

/**
 * @param {ArrayBuffer} jpeg
 * @param {string} moment ISO 8601 with offset, such as "2026-06-12T10:14:03.250+02:00"
 * @returns {ArrayBuffer} the same bytes when they hold Exif already or are no JPEG
 * @throws {RangeError} for a moment of another form
 */
export function withMoment(jpeg, moment) {
  const parts = MOMENT.exec(moment);
  if (!parts) throw new RangeError(`not a moment with an offset: ${moment}`);
  if (!wantsExif(new DataView(jpeg))) return jpeg;
  const segment = exifSegment(parts.slice(1));
  const joined = new Uint8Array(jpeg.byteLength + segment.length);
  joined.set(new Uint8Array(jpeg, 0, 2));
  joined.set(segment, 2);
  joined.set(new Uint8Array(jpeg, 2), 2 + segment.length);
  return joined.buffer;
}

function wantsExif(view) {
  if (view.byteLength < 4 || view.getUint16(0) !== START_OF_IMAGE) return false;
  for (let at = 2; at + 4 <= view.byteLength; at += 2 + view.getUint16(at + 2)) {
    const marker = view.getUint16(at);
    if (marker < 0xffc0) return false;
    if (marker === START_OF_SCAN) return true;
    if (marker === APP1 && isExif(view, at + 4)) return false;
  }
  return false;
}

const isExif = (view, at) =>
  at + EXIF_MARK.length <= view.byteLength && [...EXIF_MARK].every((letter, i) => view.getUint8(at + i) === letter.charCodeAt(0));

function exifSegment([year, month, day, hour, minute, second, fraction, offset]) {
  const exif = [
    [TAG.exifVersion, TYPE.undefined, latin("0232")],
    [TAG.dateTimeOriginal, TYPE.ascii, latin(`${year}:${month}:${day} ${hour}:${minute}:${second}\0`)],
    [TAG.offsetTimeOriginal, TYPE.ascii, latin(`${offset === "Z" ? "+00:00" : offset}\0`)],
  ];
  if (fraction) exif.push([TAG.subSecTimeOriginal, TYPE.ascii, latin(`${fraction}\0`)]);
  const mainAt = TIFF_START.length + 4;
  const exifAt = mainAt + directorySize(2);
  const main = [
    [TAG.orientation, TYPE.short, [0, 1]],
    [TAG.exifDirectory, TYPE.long, bytesOf(exifAt, 4)],
  ];
  const tiff = [...latin(TIFF_START), ...bytesOf(mainAt, 4), ...directory(main, mainAt), ...directory(exif, exifAt)];
  const body = [...latin(EXIF_MARK), ...tiff];
  return Uint8Array.from([...bytesOf(APP1, 2), ...bytesOf(body.length + 2, 2), ...body]);
}

const directorySize = (entries) => 2 + 12 * entries + 4;

/** Entries in rising order of tags; what does not fit into an entry's four bytes follows the directory. */
function directory(entries, at) {
  const listed = [...bytesOf(entries.length, 2)];
  const beyond = [];
  for (const [tag, type, bytes] of entries) {
    const count = type === TYPE.short ? bytes.length / 2 : type === TYPE.long ? bytes.length / 4 : bytes.length;
    listed.push(...bytesOf(tag, 2), ...bytesOf(type, 2), ...bytesOf(count, 4));
    if (bytes.length <= 4) {
      listed.push(...bytes, ...new Array(4 - bytes.length).fill(0));
    } else {
      listed.push(...bytesOf(at + directorySize(entries.length) + beyond.length, 4));
      beyond.push(...bytes, ...new Array(bytes.length % 2).fill(0));
    }
  }
  return [...listed, 0, 0, 0, 0, ...beyond];
}

const latin = (text) => [...text].map((letter) => letter.charCodeAt(0));
const bytesOf = (number, count) => Array.from({ length: count }, (_, i) => (number >>> (8 * (count - 1 - i))) & 0xff);
