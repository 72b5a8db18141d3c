// Warns before the session ends, with a way to stay (WCAG 2.2, 2.2.1).

import { ask } from "./server.js";

const LOOK = 20000;
const WARN = 120;
const byId = (id) => document.getElementById(id);

async function signOut() {
  const told = await ask("/panel/sign-out", {});
  location.assign(told.sign_in);
}

export function session() {
  const dialog = byId("ending");
  let before = null;

  function words(left, last) {
    const minutes = Math.max(1, Math.round(left / 60));
    const time = left < 50 ? `${left} seconds` : `${minutes} minute${minutes === 1 ? "" : "s"}`;
    return last <= left
      ? `You have been signed in for very long. In ${time} you have to sign in again. Finish what you are doing.`
      : `Nothing was done for a while. You will be signed out in ${time}.`;
  }

  async function look() {
    let told;
    try {
      told = await ask("/panel/session");
    } catch {
      return;
    }
    const soon = told.left <= WARN;
    byId("ending-text").textContent = words(told.left, told.last);
    byId("stay").textContent = told.last <= told.left ? "Go on" : "Stay signed in";
    if (soon && !dialog.open && before !== "last") {
      before = told.last <= told.left ? "last" : "idle";
      dialog.showModal();
      byId("stay").focus();
    } else if (!soon && dialog.open) {
      dialog.close();
    }
  }

  byId("stay").addEventListener("click", async () => {
    try {
      await ask("/panel/session", {});
    } finally {
      dialog.close();
    }
  });
  byId("leave").addEventListener("click", signOut);
  byId("sign-out").addEventListener("click", signOut);
  setInterval(look, LOOK);
  look();
}
