/** Hand off: the seal and the screws, accepted findings, and the files for the shop and for the builder. */

import { h } from "../dom.js";
import { verdictOf } from "../model/verdict.js";
import { acceptedFindings } from "./accepted.js";
import { packages } from "./packages.js";
import { cautions, fold, part } from "./parts.js";
import { returnedFile } from "./returned.js";
import { revisions } from "./revisions.js";
import { seal } from "./seal.js";
import { sureness } from "./sureness.js";

/** @param {import("./parts.js").Context} context */
export function handOff(context) {
  const { answer, old } = context.store.get();
  if (verdictOf(answer, old).kind === "empty")
    return h("p.quiet", {}, "Packages, seal and screws come with the first port, hole or cutout.");
  return [
    packages(context),
    revisions(context, "hand-off", "hand-off"),
    ...seal(context),
    sureness(context),
    fold("Accepted findings", (answer?.counts?.error ?? 0) > 0, acceptedFindings(context)),
    returnedFile(context),
    part("Cautions", cautions(context, ["assemble", "fill", "test", "power"])),
  ];
}
