/** Which request is answered how. Pure. What is not named here goes to the network as if there were no service worker. */

/** What is drawn or counted by the server: the newest when it can be had, else what was seen last. */
const FRESH = [
  /^\/api\/(home|settings|weather|legend|timeline|timeline\.svg|look-at|method-change|record-kinds|verdicts|verdict-drafts)$/,
  /^\/api\/plantings\/[^/]+\/(summary|growth|look-at|quotes|curves(\/[^/]+)?)$/,
  /^\/api\/photos\/[^/]+\/quotes$/,
  /^\/api\/(compare|review)(\/|\.|$)/,
];

const PICTURE = /^\/api\/photos\/[^/]+\/picture$/;
const KEPT_SIZES = ["thumb", "screen"];
/** That of a measurement that is named never changes. */
const CLASSES = /^\/api\/photos\/[^/]+\/classes$/;

/**
 * @param {Request} request @param {string} origin @param {Object<string, string>} files of the shell
 * @returns {"shell" | "picture" | "fresh" | null}
 */
export function routeOf(request, origin, files) {
  if (request.method !== "GET") return null;
  const { origin: asked, pathname, searchParams } = new URL(request.url);
  if (asked !== origin) return null;
  if (pathname in files || pathname === "/index.html") return "shell";
  if (CLASSES.test(pathname)) return searchParams.has("of") && KEPT_SIZES.includes(searchParams.get("size")) ? "picture" : null;
  if (PICTURE.test(pathname)) return KEPT_SIZES.includes(searchParams.get("size")) ? "picture" : null;
  return FRESH.some((pattern) => pattern.test(pathname)) ? "fresh" : null;
}
