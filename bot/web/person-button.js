// The button for a person in the chat page, and what a person says there.

import { el, prose } from "./dom.js";
import { person } from "./person.js";

/** A person's words in the log. */
export function fromPerson({ text }) {
  return el("div", { class: "turn bot from-person" },
    el("p", { class: "soft" }, "A person from the contact centre:"), el("div", { class: "say" }, prose(text)));
}

/**
 * Wires the button. `conversation()` gives `{ sender, district }`, `show(turn)` adds a turn to the log, `note(text)`
 * a remark, `end()` brings the end of the log into view.
 */
export function personButton({ button, input, conversation, show, note, end }) {
  const human = person({
    sender: () => conversation().sender,
    details: () => ({ district: conversation().district }),
    show({ who, text, custom }) {
      if (who === "agent") show({ from: "person", text });
      else show({ from: "bot", messages: [custom ? { text, custom } : { text }] });
      end();
    },
    note(text) {
      note(text);
      end();
      label();
    },
    assistantOff: () => label(),
  });

  function label() {
    const now = human.active();
    button.textContent = now === "taken" ? "Leave the person" : now === "waiting" ? "Stop waiting" : "Ask for a person";
  }

  button.addEventListener("click", async () => {
    await (human.active() ? human.leave() : human.ask());
    label();
  });

  return {
    /** Sends the words to a person who has the chat; null if nobody has, so that the assistant is asked. */
    async say(text) {
      try {
        return await human.say(text) ? { messages: [] } : null;
      } catch (error) {
        return { trouble: error instanceof TypeError ? "The service cannot be reached." : error.message };
      }
    },

    /** Offers a person below a reply that sends the resident to the contact centre. */
    offer(carrier, node) {
      if (!carrier || carrier.custom.kind !== "referral" || human.active()) return;
      node.append(el("div", { class: "options" }, el("button", { type: "button", onclick: (event) => {
        event.currentTarget.disabled = true;
        button.click();
        input.focus();
      } }, "Ask for a person")));
    },

    leave: human.leave,

    restore() {
      human.restore();
      label();
    },
  };
}
