// The chat as this browser tab remembers it. Without storage (private mode) it lives as long as the page.

const KEY = "lidwise-chat";
const MOST = 120;

function newSender() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return "web-" + [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function empty() {
  return { sender: newSender(), district: null, districtAsked: false, draft: "", turns: [] };
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
  return { ...empty(), district: state.district, districtAsked: state.districtAsked };
}
