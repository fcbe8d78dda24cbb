// Logging in, where the bench has a passphrase.

import { at, trouble } from "./app.js";
import { post } from "./api.js";

at("login").addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = /** @type {HTMLInputElement} */ (at("passphrase"));
  try {
    await post("/session", { passphrase: field.value });
    const then = new URLSearchParams(location.search).get("then") ?? "/";
    location.assign(/^\/(?![/\\])/.test(then) ? then : "/");
  } catch (error) {
    field.value = "";
    field.focus();
    trouble(error);
  }
});
