// The chat on another site's page: a button in the corner and a panel, in a shadow root of their own.

import { el } from "./dom.js";
import { sheets } from "./sheet.js";

const PHONE = "(max-width: 639.98px)";
const OPEN = "lidwise-open";
const LINK = "#lidwise";

function remember(open) {
  try {
    if (open) sessionStorage.setItem(OPEN, "1");
    else sessionStorage.removeItem(OPEN);
  } catch {
    // Without storage the panel is closed on the next page.
  }
}

function wasOpen() {
  try {
    return sessionStorage.getItem(OPEN) === "1";
  } catch {
    return false;
  }
}

function icon(base) {
  return el("img", { src: `${base}/web/mark.svg`, alt: "", width: "32", height: "32", class: "mark" });
}

/** The panel and its button. `base` is where the server is. */
export async function start({ base, district, left }) {
  const styles = await sheets(base, ["chat.css", "swatch.css", "widget.css"]);
  const host = document.createElement("lidwise-chat");
  const root = host.attachShadow({ mode: "open" });
  root.adoptedStyleSheets = styles;

  const dot = el("span", { class: "unseen" });
  const launcher = el("button", { type: "button", class: "launcher", "aria-haspopup": "dialog", "aria-expanded": "false" },
    icon(base), el("span", {}, "Which bin?"), dot);
  const title = el("h2", { id: "panel-title", tabindex: "-1" }, "Which bin? Ask Lidwise");
  const scheme = el("p", { class: "panel-scheme" });
  const close = el("button", { type: "button", class: "close", "aria-label": "Close the chat" }, el("span", { "aria-hidden": "true" }, "×"));
  const scroller = el("div", { class: "scroll" });
  const panel = el("dialog", { class: "panel", "aria-labelledby": "panel-title" },
    el("div", { class: "panel-head" }, icon(base), el("div", { class: "panel-name" }, title, scheme), close), scroller);
  const shell = el("div", { class: "lidwise shell" + (left ? " left" : ""), lang: "en-GB" }, launcher, panel);
  root.append(shell);
  // The reader's own size of letters, whatever the page around sets.
  shell.style.setProperty("--rem", "16px");
  document.body.append(host);
  shell.style.setProperty("--rem", getComputedStyle(shell).fontSize);

  const phone = matchMedia(PHONE);
  let chat = null;
  let overflow = null;

  async function begin() {
    const { mount } = await import("./chat.js");
    const told = (loaded) => { scheme.textContent = (loaded.scheme || {}).name || ""; };
    return mount(scroller, { base, scroller, district, scheme: told, heard });
  }

  function heard() {
    if (panel.open) return;
    launcher.classList.add("has-news");
    dot.textContent = " There is a new answer.";
  }

  function show() {
    if (phone.matches) {
      panel.showModal();
      overflow = document.documentElement.style.overflow;
      document.documentElement.style.overflow = "hidden";
    } else {
      panel.open = true; // show() would move the focus
    }
  }

  function hide() {
    panel.close();
    if (overflow !== null) document.documentElement.style.overflow = overflow;
    overflow = null;
  }

  async function open(focus = true) {
    launcher.classList.remove("has-news");
    dot.textContent = "";
    if (!panel.open) show();
    launcher.setAttribute("aria-expanded", "true");
    shell.classList.add("opened");
    remember(true);
    if (focus) title.focus({ preventScroll: true });
    const first = !chat;
    chat = chat || begin();
    let made;
    try {
      made = await chat;
      await made.ready;
    } catch {
      chat = null;
      scroller.replaceChildren(el("p", { class: "trouble", role: "alert" }, "The chat did not load. Close it and open it again."));
      return null;
    }
    if (!first) made.settle();
    if (focus && panel.open && root.activeElement === title && !matchMedia("(pointer: coarse)").matches) made.focus();
    return made;
  }

  function shut() {
    if (!panel.open) return;
    hide();
    launcher.setAttribute("aria-expanded", "false");
    shell.classList.remove("opened");
    remember(false);
    launcher.focus({ preventScroll: true });
  }

  async function ask(text) {
    const made = await open();
    if (made && text) await made.ask(text);
  }

  /** A link that ends in #lidwise opens the panel; #lidwise=pizza%20box asks that too, once. */
  function follow() {
    if (location.hash !== LINK && !location.hash.startsWith(LINK + "=")) return;
    let text = location.hash.slice(LINK.length + 1);
    try {
      text = decodeURIComponent(text);
    } catch {
      // It was not encoded, so it is taken as it stands.
    }
    history.replaceState(history.state, "", location.pathname + location.search);
    ask(text);
  }

  /** Keeps the message box above an on-screen keyboard, which on some phones covers the page without resizing it. */
  function fitKeyboard() {
    const { height, offsetTop, scale } = visualViewport;
    const covered = phone.matches && scale === 1 && innerHeight - height > 80;
    shell.style.setProperty("--seen", covered ? height + "px" : "100dvh");
    shell.style.setProperty("--seen-top", covered ? offsetTop + "px" : "0px");
  }
  if (self.visualViewport) for (const kind of ["resize", "scroll"]) visualViewport.addEventListener(kind, fitKeyboard);

  launcher.addEventListener("click", () => open());
  close.addEventListener("click", shut);
  panel.addEventListener("cancel", (event) => {
    if (event.target !== panel) return;
    event.preventDefault();
    shut();
  });
  // Keys pressed in the chat are no shortcuts of the page around it.
  for (const kind of ["keydown", "keyup", "keypress"]) host.addEventListener(kind, (event) => event.stopPropagation());
  panel.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || event.isComposing || root.querySelector("dialog.ask[open]")) return;
    event.preventDefault();
    shut();
  });
  phone.addEventListener("change", () => {
    if (!panel.open) return;
    const focused = root.activeElement;
    hide();
    show();
    if (focused) focused.focus({ preventScroll: true });
  });
  document.addEventListener("click", (event) => {
    const link = event.target instanceof Element && event.target.closest("[data-lidwise-ask]");
    if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    ask(link.getAttribute("data-lidwise-ask"));
  });
  addEventListener("hashchange", follow);

  if (location.hash.startsWith(LINK)) follow();
  else if (wasOpen() && !phone.matches) open(false);
}
