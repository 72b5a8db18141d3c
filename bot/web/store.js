// The chat as this browser tab remembers it. Without storage (private mode) it lives as long as the page.

const KEY = "lidwise-chat";
const MOST = 120;

function random(bytes) {
  return [...crypto.getRandomValues(new Uint8Array(bytes))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** A name for a turn that no other turn has. The server takes it as the message's id. */
export function newId() {
  return random(12);
}

function empty() {
  return { sender: "web-" + random(16), district: null, districtAsked: false, draft: "", turns: [], remarks: [] };
}

export function load() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(KEY));
    if (kept && typeof kept.sender === "string" && Array.isArray(kept.turns)) return { ...empty(), ...kept };
  } catch {
    // A broken or forbidden store is the same as an empty one.
  }
  return empty();
}

export function save(state) {
  state.turns = state.turns.slice(-MOST);
  try {
    sessionStorage.setItem(KEY, JSON.stringify(state));
  } catch {
    // The chat goes on; it just does not survive a reload.
  }
}

export function cleared(state) {
  return { ...empty(), district: state.district, districtAsked: state.districtAsked, remarks: state.remarks };
}
