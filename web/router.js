/** From the address to a screen: `#/photos/ID/frame` and the like. Pure. */

/** @param {[string, Function][]} routes patterns such as "photos/:id" @param {string} address */
export function findRoute(routes, address) {
  const [path, query = ""] = address.replace(/^#?\/?/, "").split("?");
  const parts = path.split("/").filter(Boolean).map(decoded);
  for (const [pattern, screen] of routes) {
    const params = match(pattern.split("/").filter(Boolean), parts);
    if (params)
      return { screen, pattern, params: { ...Object.fromEntries(new URLSearchParams(query)), ...params } };
  }
  return null;
}

function match(pattern, parts) {
  if (pattern.length !== parts.length) return null;
  const params = {};
  for (const [index, piece] of pattern.entries()) {
    if (piece.startsWith(":")) params[piece.slice(1)] = parts[index];
    else if (piece !== parts[index]) return null;
  }
  return params;
}

function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
