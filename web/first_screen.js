/** Begins to load the first screen's files while the rest of the app is still on its way: half the way to it is waiting for files. */

import { findRoute } from "./router.js";
import { ROUTES } from "./routes.js";

findRoute(ROUTES, location.hash || "#/")
  ?.screen.load()
  .catch(() => {});
