// How the page asks the server. Whoever is signed out is sent to sign in again.

let token = "";

export function setToken(value) {
  token = value;
}

export class Refused extends Error {}

/** The JSON of an answer. Throws `Refused` with words for the agent. */
export async function ask(path, body, signal) {
  let response;
  try {
    response = await fetch(path, {
      method: body === undefined ? "GET" : "POST",
      headers: body === undefined ? { accept: "application/json" }
        : { accept: "application/json", "content-type": "application/json", "x-lidwise-token": token },
      body: body === undefined ? undefined : JSON.stringify(body),
      signal,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused("The service cannot be reached. Try again in a moment.");
  }
  if (response.status === 401) {
    location.assign("/panel/sign-in?said=expired&next=/panel");
    throw new Refused("You are signed out.");
  }
  const told = await response.json().catch(() => ({}));
  if (!response.ok) {
    const refused = new Refused(told.error || "Something went wrong on our side. Try again.");
    refused.status = response.status;
    throw refused;
  }
  return told;
}
