/** What the page says: a line that goes by itself, and words for those who hear the page. */

import { byId } from "../dom.js";

/** How long a line stays, ms. */
const STAYS = 5000;

export function createNotices() {
  let timer = 0;
  /** For those who hear the page; the eye sees it anyway. @param {string} words */
  const whisper = (words) => {
    byId("say").textContent = words;
  };
  /** @param {string} words */
  const say = (words) => {
    whisper(words);
    const line = byId("notice");
    line.textContent = words;
    line.hidden = !words;
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      line.hidden = true;
    }, STAYS);
  };
  return { say, whisper };
}
