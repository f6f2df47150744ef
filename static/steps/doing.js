/**
 * What takes a while: a button that shows that it is at work and cannot be pressed twice, with what went wrong beside it;
 * and files, which are made from the plate as it is shown or not at all.
 */

import { Away, sentence } from "../server/api.js";
import { h } from "../dom.js";
import { button } from "../panels/form.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {{busy: boolean, problem: string}} Task
 */

/** Something that the user is to read as it is. */
export class Said extends Error {}

/** @param {Pick<Context, "local">} context @param {string} key @returns {Task} */
export function taskOf({ local }, key) {
  local.tasks ??= {};
  return (local.tasks[key] ??= { busy: false, problem: "" });
}

/** Runs it once; a second start while it runs does nothing. @param {Pick<Context, "local"|"again">} context @param {string} key @param {() => Promise<unknown>} run */
export async function doing(context, key, run) {
  const task = taskOf(context, key);
  if (task.busy) return;
  Object.assign(task, { busy: true, problem: "" });
  context.again();
  try {
    await run();
  } catch (error) {
    task.problem = error instanceof Said ? error.message : sentence(error);
  }
  task.busy = false;
  context.again();
}

/** A button for something that takes a while. @param {Pick<Context, "local"|"again">} context @param {string} key @param {string} words @param {() => Promise<unknown>} run @param {import("../types.js").Props} [more] */
export function taskButton(context, key, words, run, more = {}) {
  const { busy } = taskOf(context, key);
  return button(words, () => doing(context, key, run), {
    "data-keep": key,
    "aria-disabled": busy ? "true" : null,
    "aria-busy": busy ? "true" : null,
    ...more,
  });
}

/** How a task goes: that it runs, or what went wrong. @param {Pick<Context, "local">} context @param {string} key @param {string} [words] while it runs */
export function taskState(context, key, words = "Working…") {
  const { busy, problem } = taskOf(context, key);
  return h(
    "div.task",
    { role: "status" },
    busy && [h("progress", { "aria-label": words }), h("p.quiet", {}, words)],
    problem && h("p.problem", {}, problem),
  );
}

/** How long a file waits for what is still being saved, ms. */
const SAVED_WITHIN = 10_000;

/** Waits until the server has what is shown. @param {Pick<Context, "store">} context @returns {Promise<{id: string, state: number}>} */
export async function shownState({ store }) {
  for (const end = Date.now() + SAVED_WITHIN; ;) {
    const { link, plate } = store.get();
    if (plate && link === "saved") return plate;
    if (link !== "saving" || Date.now() > end)
      throw new Said(
        "What is shown is not saved yet, so no file can be made from it. See the line under the plate's name.",
      );
    await new Promise((done) => setTimeout(done, 50));
  }
}

/**
 * A file of the plate as it is shown, brought to the user's disk. The server refuses when it has another state by now.
 * @param {Pick<Context, "store"|"api">} context @param {string} what @param {Record<string, string>} query
 */
async function bring({ store, api }, what, query) {
  const { id, state } = await shownState({ store });
  let answer;
  try {
    answer = await fetch(api.href(id, what, { ...query, state: String(state) }));
  } catch {
    throw new Away("The server does not answer.");
  }
  if (!answer.ok) {
    const error = (await answer.json().catch(() => null))?.error;
    // The window looks again, as if one had come back to it.
    if (error?.code === "other-state") window.dispatchEvent(new Event("focus"));
    throw new Said(error?.message ?? `The server answered ${answer.status}.`);
  }
  const link = h("a", {
    href: URL.createObjectURL(await answer.blob()),
    download: /filename="([^"]+)"/.exec(answer.headers.get("Content-Disposition") ?? "")?.[1] ?? "plate",
  });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/**
 * A link to a file. It is a true link, to be copied or opened elsewhere; a click makes the file here and says how it goes.
 * @param {Context} context @param {string} words @param {string} what @param {Record<string, string>} query @param {{key: string, keep?: string, class?: string, role?: string, label?: string}} options  key: of the task whose state is shown beside it
 */
export function fileLink(context, words, what, query, { key, keep = key, class: kind, role, label }) {
  const { store, api } = context;
  const { plate } = store.get();
  if (!plate) return null;
  const { busy } = taskOf(context, key);
  return h(
    "a",
    {
      href: api.href(plate.id, what, { ...query, state: String(plate.state) }),
      download: "",
      "data-keep": keep,
      "aria-disabled": busy ? "true" : null,
      class: kind ? `button ${kind}` : "button",
      role,
      "aria-label": label,
      // What calls itself a button is pressed like one.
      onkeydown: (event) => {
        if (role !== "button" || event.key !== " ") return;
        event.preventDefault();
        event.currentTarget.click();
      },
      onclick: (event) => {
        event.preventDefault();
        void doing(context, key, () => bring(context, what, query));
      },
    },
    words,
  );
}
