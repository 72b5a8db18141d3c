// The caller of the moment: district, day and conversation. Kept in this tab only, gone with "Next caller".

const KEY = "lidwise-panel";

function fresh() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return { caller: "panel-" + [...bytes].map((b) => b.toString(16).padStart(2, "0")).join(""), district: "", on: "" };
}

function load() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(KEY));
    if (kept && /^panel-[0-9a-f]{24}$/.test(kept.caller)) return { ...fresh(), ...kept };
  } catch {
    // Without storage the caller lives as long as the page.
  }
  return fresh();
}

export const caller = load();

export function keep(changes) {
  Object.assign(caller, changes);
  try {
    sessionStorage.setItem(KEY, JSON.stringify(caller));
  } catch {
    // As above.
  }
}

export function nextCaller() {
  keep(fresh());
}

let districts = [];

export function setDistricts(list) {
  districts = list;
}

export function districtName(id) {
  const known = districts.find((one) => one.id === id);
  return known ? known.name : "Not known";
}

export function allDistricts() {
  return districts;
}
