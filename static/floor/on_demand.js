/* What the page fetches only when it is asked for: words, styles and scripts of its rarer parts. The
   service worker has them already, so it goes without a network. */

import { make } from "./drawing/dom.js";
import { addWords } from "./drawing/words.js";

let fetching = null;

/* Resolves once words and styles are there; rejects if they cannot be had now. */
export function fetchMore() {
  fetching ??= fetchBoth().catch((error) => {
    fetching = null;
    throw error;
  });
  return fetching;
}

async function fetchBoth() {
  const { moreWords, moreStyles } = document.documentElement.dataset;
  const [words] = await Promise.all([fetchWords(moreWords), addStyles(moreStyles)]);
  addWords(words);
}

async function fetchWords(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  return answer.json();
}

function addStyles(href) {
  return new Promise((resolve, reject) => {
    const link = make("link", { rel: "stylesheet", href, on: { load: resolve, error: reject } });
    document.head.append(link);
  });
}
