/* What the server answered, and the cookie that a call needs. */

// In milliseconds.
const POST_TIMEOUT = 20_000;

const TROUBLES = {
  400: "not-read",
  401: "sign-in",
  403: "not-allowed",
  404: "not-yours",
  413: "not-read",
  503: "busy",
};

/* {trouble: null, lines, log, now}, or {trouble} with a key of the page's words. */
export function parseAnswer(status, data) {
  // Also as a page of its own: whatever answers so has choked on something in the call.
  if (status === 500) return { trouble: "broken" };
  if (data === null) return { trouble: "no-answer" };
  const { log } = data;
  if (status === 200 && Array.isArray(data.lines)) {
    return { trouble: null, lines: data.lines, log: data.log, now: data.now };
  }
  if (status === 403 && data.error === "stale-token") return { trouble: "stale-token" };
  if (typeof data.error === "string" && status in TROUBLES) return { trouble: TROUBLES[status], log };
  return { trouble: "no-answer" };
}

/* The JSON of an answer, or null for anything else: a page that says "sign in" with status 200
   is not an answer, and neither is a redirect. */
export async function readJson(response) {
  const type = response.headers.get("Content-Type") ?? "";
  if (response.type === "opaqueredirect" || !type.startsWith("application/json")) return null;
  const data = await response.json();
  return typeof data === "object" ? data : null;
}

/* The id of the newest line that the server must have from now on, or null. A strike that it
   "had" may be another strike of the same turn, so this one may not be stored. */
export function newestAccepted(answered, answers) {
  const accepted = answered.filter(({ id, line }) => {
    const { answer } = answers.get(id);
    return answer === "kept" || (answer === "had" && line.kind !== "strike");
  });
  return accepted.at(-1)?.id ?? null;
}

/* {status, data} of a call that changes something, or null without an answer. */
export async function postJson(address, body) {
  const { tokenCookie } = document.documentElement.dataset;
  try {
    const response = await fetch(address, {
      method: "POST",
      body: JSON.stringify(body),
      credentials: "same-origin",
      redirect: "manual",
      cache: "no-store",
      signal: AbortSignal.timeout(POST_TIMEOUT),
      headers: {
        Accept: "application/json",
        "Content-Type": "application/json",
        "X-CSRFToken": readCookie(tokenCookie),
      },
    });
    return { status: response.status, data: await readJson(response) };
  } catch {
    return null;
  }
}

export function readCookie(name) {
  for (const part of document.cookie.split("; ")) {
    if (part.startsWith(`${name}=`)) return decodeURIComponent(part.slice(name.length + 1));
  }
  return "";
}
