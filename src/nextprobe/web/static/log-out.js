// Logging out, where the bench has a passphrase.

import { at, trouble } from "./app.js";
import { ask } from "./api.js";

at("log-out").addEventListener("click", () => {
  ask("/session", { method: "DELETE" }).then(() => location.assign("/login"), trouble);
});
