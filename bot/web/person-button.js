// The button for a person, and the lines between the resident and that person.

import { el } from "./dom.js";
import { person } from "./person.js";

const NAME = "A person from the contact centre:";

/**
 * Wires the button. `conversation()` gives `{ sender, district }`. `hear(text, name)` shows what the person says,
 * `reply(message)` what the assistant says in an emergency, `note(text)` a remark, `trouble(turn, text)` that a line
 * was not sent, `assistant(turn)` gives a line back to the assistant.
 */
export function personButton({ base, button, conversation, hear, reply, note, trouble, assistant }) {
  const human = person({
    base,
    sender: () => conversation().sender,
    details: () => ({ district: conversation().district }),
    show({ who, text, custom }) {
      if (who === "agent") hear(text, NAME);
      else reply(custom ? { text, custom } : { text });
    },
    note(text) {
      note(text);
      label();
    },
    assistantOff: () => label(),
  });

  function label() {
    const now = human.active();
    button.textContent = now === "taken" ? "Leave the person" : now === "waiting" ? "Stop waiting" : "Ask for a person";
  }

  async function toggle() {
    await (human.active() ? human.leave() : human.ask());
    label();
  }
  button.addEventListener("click", toggle);
  button.hidden = false;

  return {
    /** Whether a person answers now. */
    taken: () => human.active() === "taken",

    /** Sends a turn's words to the person; back to the assistant if the person has gone. */
    async say(turn) {
      try {
        if (!await human.say(turn.text)) assistant(turn);
      } catch (error) {
        trouble(turn, error instanceof TypeError ? "The service cannot be reached." : error.message);
      }
    },

    /** Offers a person below a reply that sends the resident to the contact centre. */
    offer(kind, node) {
      if (kind !== "referral" || human.active()) return;
      const offer = el("div", { class: "options" }, el("button", { type: "button", onclick: (event) => {
        event.currentTarget.disabled = true;
        if (!human.active()) toggle();
      } }, "Ask for a person"));
      node.insertBefore(offer, node.querySelector(".verdict"));
    },

    leave: human.leave,

    restore() {
      human.restore();
      label();
    },
  };
}
