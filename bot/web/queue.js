// What goes out: messages in their order, then remarks. What cannot go out is kept and tried again by itself; a
// message carries its id, so that the server answers it once however often it arrives.

const SLOW = 8000;
const GIVE_UP = 60000;
const PAUSES = [2, 4, 8, 15, 30, 60];

const OFFLINE = "You are offline. It goes out when you are back online.";
const AGAIN = " I will try again by myself.";

async function post(url, body, abort) {
  return fetch(url, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
    credentials: "omit",
    signal: abort,
  });
}

function pause(response) {
  const seconds = Number(response.headers.get("retry-after"));
  return seconds > 0 ? seconds : 0;
}

function held(text, after = 0) {
  return { label: "Not sent yet.", text, after, again: true };
}

/** What became of one message: `messages`, or what is wrong, with `again` where another try may help. */
async function send(base, body, slow) {
  const stop = new AbortController();
  const late = setTimeout(slow, SLOW);
  const end = setTimeout(() => stop.abort(), GIVE_UP);
  try {
    const response = await post(base + "/webhooks/rest/webhook", body, stop.signal);
    if (response.status === 429) return held("Too many messages came at once." + AGAIN, pause(response));
    if (response.status >= 500 || response.status === 408) return held("The service has a problem." + AGAIN, pause(response));
    if (!response.ok) return { label: "Not answered.", text: "The service could not read this message." };
    const messages = await response.json();
    if (Array.isArray(messages) && messages.length) return { messages };
    return { label: "Not answered.", text: "No answer came back." };
  } catch {
    if (stop.signal.aborted) return { ...held("No answer came in time." + AGAIN), label: "Not answered yet." };
    return held(navigator.onLine ? "The service cannot be reached." + AGAIN : OFFLINE);
  } finally {
    clearTimeout(late);
    clearTimeout(end);
  }
}

/**
 * `state()` gives the chat's state, `metadata()` what goes with each message. `show` is told: `waiting(text, slow)`,
 * `trouble(turn)`, `answered(turn, messages)`, `remarked(remark, stored)`.
 */
export function outbox({ base, state, save, metadata, show }) {
  let busy = false;
  let failures = 0;
  let timer = 0;

  const next = () => state().turns.find((turn) => turn.waits);

  function hold(trouble) {
    for (const turn of state().turns) {
      if (!turn.waits) continue;
      turn.trouble = { label: trouble.label, text: trouble.text };
      show.trouble(turn);
    }
  }

  /** Sends what waits; the result is the time to wait before the next try, or -1. */
  async function messages() {
    for (let turn; (turn = next());) {
      const { sender } = state();
      show.waiting(turn.trouble ? "Sending it again…" : "Looking it up…");
      const body = { sender, message: turn.payload, metadata: { ...metadata(), message_id: turn.id } };
      const result = await send(base, body, () => show.waiting("This is taking longer than usual. I am still looking.", true));
      show.waiting("");
      if (state().sender !== sender) continue; // The chat was cleared meanwhile.
      if (result.again) {
        hold(result);
        save();
        return result.after;
      }
      failures = 0;
      turn.waits = false;
      turn.trouble = result.messages ? null : { label: result.label, text: result.text };
      if (result.messages) show.answered(turn, result.messages);
      else show.trouble(turn);
      save();
    }
    return -1;
  }

  async function remarks() {
    for (let remark; (remark = state().remarks[0]);) {
      let response = null;
      try {
        response = await post(base + "/api/remarks", remark, AbortSignal.timeout(GIVE_UP));
      } catch {
        return 0;
      }
      if (response.status === 429 || response.status >= 500) return pause(response);
      failures = 0;
      const { remarks: waiting } = state();
      const at = waiting.indexOf(remark);
      if (at >= 0) waiting.splice(at, 1);
      show.remarked(remark, response.ok);
      save();
    }
    return -1;
  }

  async function pump() {
    if (busy) return;
    clearTimeout(timer);
    busy = true;
    let after = -1;
    try {
      do {
        after = await messages();
        if (after < 0) after = await remarks();
      } while (after < 0 && next());
    } finally {
      busy = false;
    }
    if (after < 0) return;
    const own = PAUSES[Math.min(failures, PAUSES.length - 1)];
    failures += 1;
    timer = setTimeout(pump, Math.max(after, own) * 1000);
  }

  addEventListener("online", pump);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && timer) pump(); });

  return {
    pump,
    /** Keeps a remark to be sent; one for the same message takes the place of one that still waits. */
    remark(remark) {
      const { remarks: waiting } = state();
      const at = waiting.findIndex((one) => one.message_id === remark.message_id);
      if (at >= 0) waiting.splice(at, 1);
      waiting.push(remark);
      save();
      pump();
    },
  };
}
