// The fixed words of the page: what each destination code is called, dates, and short forms.

export const DESTINATIONS = {
  paper_card: { name: "Your paper and card container", about: "Paper and card recycling", kind: "bin" },
  containers: { name: "Your container for plastic, glass, tins and cartons", about: "Plastic, glass, tins and cartons", kind: "bin" },
  mixed_recycling: { name: "Your mixed recycling bin", about: "Mixed recycling", kind: "bin" },
  food: { name: "Your food caddy", about: "Food waste", kind: "bin" },
  garden: { name: "Your garden waste container, if you subscribe", about: "Garden waste, if you subscribe", kind: "bin" },
  residual: { name: "Your general waste bin", about: "General waste", kind: "bin" },
  battery_bag: { name: "Small clear bag on top of your closed general waste bin", about: "Household batteries", kind: "bin" },
  electricals_bag: { name: "Tied carrier-sized bag beside your general waste bin", about: "Small electricals", kind: "bin" },
  recycling_centre: { name: "Recycling centre", about: "Take it there.", kind: "place" },
  shop_take_back: { name: "Shop collection point", about: "Hand it in at a shop that takes it.", kind: "place" },
  pharmacy: { name: "Pharmacy", about: "Hand it in.", kind: "place" },
  clinical_collection: { name: "Clinical waste collection", about: "The contact centre arranges it.", kind: "service" },
  bulky_collection: { name: "Bulky-item collection", about: "This is a paid service. The contact centre arranges it.", kind: "service" },
  reuse: { name: "Pass it on", about: "To someone who can use it, such as a charity shop or reuse group.", kind: "place" },
  supplier_return: { name: "Back to the supplier", about: "Give it back to the firm it came from.", kind: "place" },
  specialist: { name: "Licensed specialist", about: "Do not handle it yourself.", kind: "hold" },
  hold: { name: "Keep it out of every bin for now", about: "Make it safe first.", kind: "hold" },
  emergency: { name: "Call 999 now", about: "Danger to life comes first.", kind: "hold" },
};

export function destination(code) {
  const known = Object.prototype.hasOwnProperty.call(DESTINATIONS, code);
  return known ? DESTINATIONS[code] : { name: String(code).replace(/_/g, " "), about: "", kind: "place" };
}

export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

const MONTHS = [
  "January", "February", "March", "April", "May", "June",
  "July", "August", "September", "October", "November", "December",
];

/** "2027-02-10" as "10 February 2027", or null when that is no date. */
export function longDate(iso) {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(iso || "");
  if (!parts) return null;
  const [year, month, day] = parts.slice(1).map(Number);
  const date = new Date(Date.UTC(year, month - 1, day));
  if (date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day) return null;
  return `${day} ${MONTHS[month - 1]} ${year}`;
}
