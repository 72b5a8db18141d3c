// Warns before the session ends, so that nothing typed is lost, and lets the officer stay.
const token = document.querySelector('.sign-out input[name="token"]')?.value;
const notice = document.getElementById("ends");
const WARN = 150;
let timer = 0;

async function ask(method) {
  const answer = await fetch("/officer/session", {
    method,
    headers: { "x-lidwise-token": token, accept: "application/json" },
  });
  if (answer.status === 401) return 0;
  return answer.ok ? (await answer.json()).left : null;
}

function tell(left) {
  notice.hidden = left === null || left > WARN;
  if (notice.hidden || (left > 0 && notice.querySelector("button"))) return;
  notice.replaceChildren();
  if (left <= 0) {
    notice.append(
      "You are signed out. What you typed is still on this page: sign in in a new tab, then send it again. ",
    );
    const link = document.createElement("a");
    link.href = "/officer/sign-in";
    link.target = "_blank";
    link.textContent = "Sign in (opens a new tab)";
    notice.append(link);
    return;
  }
  notice.append("You will be signed out in about two minutes, because nothing was done for a while. ");
  const stay = document.createElement("button");
  stay.type = "button";
  stay.className = "quiet";
  stay.textContent = "Stay signed in";
  stay.addEventListener("click", () => look("POST"));
  notice.append(stay);
}

async function look(method) {
  clearTimeout(timer);
  let left = null;
  try {
    left = await ask(method);
    tell(left);
  } catch {
    left = null;
  }
  const wait = left === null ? 60 : left > WARN ? Math.min(left - WARN + 1, 600) : 20;
  timer = setTimeout(() => look("GET"), wait * 1000);
}

look("GET");
