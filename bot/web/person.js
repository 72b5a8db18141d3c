// A person instead of the assistant: asks for one, hears what the person says, and sends what the resident says.
//
// The secret of the chat stays in this tab. While a person has the chat, the assistant does not answer.

const KEY = "lidwise-person";
const AGAIN = 600;
const AFTER_FAULT = 4000;

function load() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY));
  } catch {
    return null;
  }
}

function keep(value) {
  try {
    if (value) sessionStorage.setItem(KEY, JSON.stringify(value));
    else sessionStorage.removeItem(KEY);
  } catch {
    // Without storage the chat with a person lasts as long as the page.
  }
}

async function call(base, path, method = "GET", body) {
  const response = await fetch(`${base}/api/person${path}`, {
    method,
    headers: body ? { "content-type": "application/json" } : {},
    body: body && JSON.stringify(body),
  });
  const told = await response.json().catch(() => ({}));
  return { status: response.status, told };
}

/**
 * `base` is where the server is. `sender()` names the conversation; `details()`, if there, gives `{ district }`. `show(line)` gets
 * `{ who, text, custom? }` of a person or of the assistant in an emergency, `note(text)` what happened,
 * `assistantOff(bool)` whether a person answers now.
 */
export function person({ base = "", sender, details = () => ({}), show, note, assistantOff }) {
  let token = "";
  let state = "";
  let after = 0;
  let round = 0;
  let asking = false;
  const seen = new Set();

  const open = () => state === "waiting" || state === "taken";

  function save() {
    keep(open() ? { token, state, after } : null);
  }

  function become(next) {
    const before = state;
    state = next;
    if ((before === "taken") !== (next === "taken")) assistantOff(next === "taken");
    save();
  }

  function tell({ id, who, text, custom }) {
    if (seen.has(id)) return;
    seen.add(id);
    if (who === "note") note(text);
    else show({ who, text, custom });
  }

  function take(lines) {
    for (const line of lines) {
      after = Math.max(after, line.id);
      tell(line);
    }
  }

  async function follow() {
    const mine = ++round;
    while (mine === round && open()) {
      let pause = AGAIN;
      try {
        const { status, told } = await call(base, `/${token}?after=${after}&state=${state}`);
        if (mine !== round) return;
        if (status === 404) {
          note("The chat with a person is over. The assistant answers again.");
          become("");
        } else if (status === 200) {
          take(told.lines);
          become(told.state === "waiting" || told.state === "taken" ? told.state : "");
        } else {
          pause = AFTER_FAULT;
        }
      } catch {
        pause = AFTER_FAULT;
      }
      await new Promise((done) => setTimeout(done, pause));
    }
  }

  return {
    /** Asks for a person; the resident is told at once whether one can come. */
    async ask() {
      if (open() || asking) return;
      asking = true;
      try {
        const { status, told } = await call(base, "", "POST", { sender: sender(), ...details() });
        if (told.state === "closed") note(told.told);
        else if (status === 201) {
          token = told.token;
          after = 0;
          seen.clear();
          const before = told.before ? ` ${told.before} ${told.before === 1 ? "chat is" : "chats are"} before yours.` : "";
          become("waiting");
          note(`I have asked for a person.${before} They can read this chat. You can go on asking me meanwhile.`);
          take(told.lines);
          follow();
        } else note(told.error || "A person cannot be asked for now. Try again in a moment.");
      } catch {
        note("The service cannot be reached. Try again in a moment.");
      } finally {
        asking = false;
      }
    },

    /** Sends a line to the person. False if no person has the chat, so that the assistant answers. Throws if it was not sent. */
    async say(text) {
      if (state !== "taken") return false;
      const { status, told } = await call(base, `/${token}`, "POST", { message: text });
      if (status === 409 || status === 404) {
        const last = await call(base, `/${token}?after=${after}`).catch(() => ({ status: 0 }));
        if (last.status === 200) take(last.told.lines);
        become(told.state === "waiting" ? "waiting" : "");
        return false;
      }
      if (status !== 200) throw new Error(told.error || "The service has a problem.");
      for (const urgent of told.urgent || []) tell({ id: told.id, who: "assistant", ...urgent });
      return true;
    },

    /** "" if nobody was asked for, else "waiting" or "taken". */
    active: () => (open() ? state : ""),

    /** Goes on after the page was loaded again. */
    restore() {
      const kept = load();
      if (!kept || !kept.token) return;
      ({ token, after } = kept);
      become(kept.state);
      follow();
    },

    /** Does without a person. */
    async leave() {
      if (!open()) return;
      const old = token;
      round += 1;
      become("");
      note("You left the chat with a person. The assistant answers again.");
      await call(base, `/${old}`, "DELETE").catch(() => {});
    },
  };
}
