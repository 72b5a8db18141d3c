// The message box.

const LIMIT = 1000;
const COUNT_FROM = 850;
const TALLEST = 160;

/** A text as long as a message may be. */
export function shortened(text) {
  return [...text].slice(0, LIMIT).join("");
}

/** `sent(text)` is called with a message, `drafted(text)` at each change, `say(text)` reads a text out. */
export function messageBox({ parts, sent, drafted, say }) {
  const { message: input, composer, count } = parts;
  let later = 0;

  function check() {
    const left = LIMIT - [...input.value].length;
    const text = left < 0 ? `${-left} characters too many` : left <= LIMIT - COUNT_FROM ? `${left} characters left` : "";
    const before = count.textContent;
    count.textContent = text;
    composer.classList.toggle("over", left < 0);
    if (left < 0) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
    clearTimeout(later);
    if (text !== before) later = setTimeout(() => say(text), 800);
    return left >= 0;
  }

  function fit() {
    input.style.height = "auto";
    input.style.height = Math.min(input.scrollHeight + 4, TALLEST) + "px";
  }

  function fill(text) {
    input.value = text;
    check();
    if (text) fit();
    else input.style.height = "";
  }

  input.addEventListener("input", () => {
    drafted(input.value);
    check();
    fit();
  });
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.shiftKey || event.isComposing) return;
    event.preventDefault();
    composer.requestSubmit();
  });
  composer.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = input.value.trim();
    input.focus();
    if (!text || !check()) return;
    fill("");
    drafted("");
    sent(text);
  });
  return { fill, focus: () => input.focus({ preventScroll: true }) };
}
