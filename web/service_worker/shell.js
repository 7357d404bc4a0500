/** The app's own files, kept whole by version: all of one version or none of it. */

const PREFIX = "shell ";

export const shellCache = (version) => PREFIX + version;

/** @throws when a file cannot be had or is not the one that was listed (the server was updated meanwhile); the browser tries again later */
export async function keepShell(version, files) {
  const cache = await caches.open(shellCache(version));
  await Promise.all(
    Object.entries(files).map(async ([address, sha256]) => {
      const response = await fetch(address, { cache: "no-cache" });
      if (!response.ok) throw new Error(`${address} answered ${response.status}`);
      if ((await hashOf(await response.clone().arrayBuffer())) !== sha256)
        throw new Error(`${address} has changed`);
      await cache.put(address, response);
    }),
  );
}

export async function dropOldShells(version) {
  const old = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== shellCache(version));
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function hashOf(bytes) {
  const hash = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(hash)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
