/** The page's help, written from docs/first-plate.md and docs/glossary.md by docs/make_help.py. */

/** @type {Record<string, string[]>} */
export const HOW = {
  "measure": [
    "Open Measure. Add the points you can reach with a caliper or a steel rule: the four corners of the floor, the centres of standoffs and cable holes. Type each reading as the tool shows it; 11 13/16 in is understood. Readings can also be pasted under Readings as a table, or typed by a caliper that sends digits and Enter. Take a few more than needed, the diagonals first: only readings beyond the bare minimum can show that one is wrong. A suspect reading is named, with what it probably was. When the readings agree, draw the floor from them."
  ],
  "lay-out": [
    "Open Lay out. Place the mainboard, then the devices: the pump, a block, a radiator. Place a port under every tube end; it snaps to what is above it. In the item panel say which device's port it serves. Then cutouts for cables, and screw holes at the standoffs, two at least to hold the plate; zoom in, and type coordinates where a millimetre matters."
  ],
  "channels": [
    "Open Run channels and take the channel tool. Click a port, click where the channel is to turn, click the port it ends at. Set width and depth. Flow, losses and temperatures follow while you draw; an arrow on each channel shows where the coolant goes. A wide, deep channel costs little pressure, and needs room for walls."
  ],
  "check": [
    "Open Check. Four questions are answered: does it fit, flow, hold, can it be made. Click a finding to see its place and its distance on the plan; where the fix is certain, a button makes it. Go on until no error is left. A warning may be accepted with a reason, which goes to the shop with the plate."
  ],
  "test-piece": [
    "Open Test piece and download the file for cheap acrylic or card. Cut it, put it in the case, and look at every port. Type how far each tube lands from its port. A piece that sits off as a whole is told from ports that are wrong on their own; accept the moves that are proposed, and cut again until it fits. Keep a revision with the label that is cut into the piece."
  ],
  "hand-off": [
    "Open Hand off. Place the lid's screws, look at seal and groove, and choose Download shop package (.zip): the files to mill from, a drawing, a hole table, a parts list, and the plate itself. It is refused while an error is open, and asks for a revision to be kept first. Before the computer is near it, the plate is tested for leaks as safety.md says."
  ]
};

/** @type {[string, string][]} */
export const WORDS = [
  [
    "floor",
    "the case floor seen from above: its outline, and what stands on it"
  ],
  [
    "obstacle",
    "something on the floor with an outline and a height"
  ],
  [
    "opening",
    "a hole in the floor itself"
  ],
  [
    "survey",
    "the measured floor: named points, and the readings between them"
  ],
  [
    "reading",
    "one measured value, with the tool it was read by"
  ],
  [
    "spread",
    "one standard deviation, mm: of a reading, a place or a cut"
  ],
  [
    "suspect",
    "a reading that the others contradict"
  ],
  [
    "residual",
    "what is left between a reading and its adjusted value"
  ],
  [
    "redundancy",
    "how many readings there are beyond those that fix the points"
  ],
  [
    "plate",
    "the part: a milled body closed by a lid"
  ],
  [
    "body",
    "the milled part of the plate"
  ],
  [
    "lid",
    "the part that closes the channels"
  ],
  [
    "port",
    "a threaded hole that takes a fitting; on the top face, the bottom face or an edge"
  ],
  [
    "connection",
    "ports that channels are to join, drawn or not yet"
  ],
  [
    "channel",
    "a milled coolant passage"
  ],
  [
    "centreline",
    "the line a channel follows, with its width, depth and bend radius"
  ],
  [
    "junction",
    "a point where channels meet; its key in the file is branches"
  ],
  [
    "cutout",
    "a hole through the plate for cables, connectors or a bracket"
  ],
  [
    "pocket",
    "a dry recess"
  ],
  [
    "cable slot",
    "a pocket that leads a cable out of another one: to a cutout, an opening in the floor, or over the plate's edge"
  ],
  [
    "keep-out",
    "an area that nothing of the named kinds may enter"
  ],
  [
    "groove",
    "the milled seat of the seal's cord"
  ],
  [
    "device",
    "a block, radiator, reservoir, pump or other part of the loop"
  ],
  [
    "tube",
    "what joins a device's port to a port of the plate or of another device"
  ],
  [
    "grid",
    "a pattern to snap to: board holes, slots, fan holes, or a plain square one"
  ],
  [
    "standing",
    "of a board: on edge above the floor"
  ],
  [
    "lying",
    "of a board: parallel to the floor"
  ],
  [
    "rule",
    "one thing that is checked, with its limit, reason and source"
  ],
  [
    "finding",
    "what a rule found: its level, items, value, limit, place, message and remedy"
  ],
  [
    "fix",
    "an edit that ends a finding"
  ],
  [
    "operating point",
    "the flow and pressure at which the pump's curve meets the loop's"
  ],
  [
    "kerf",
    "the width of material that a cut takes away"
  ],
  [
    "test piece",
    "the cheap cut that is tried in the case before the plate is made"
  ],
  [
    "fit reading",
    "what the test piece showed at one port"
  ],
  [
    "revision",
    "a kept state of the plate, with its label and its reason"
  ],
  [
    "hand-off",
    "the files that go to the shop"
  ],
  [
    "shop",
    "the workshop that mills the plate, with its cutters, tolerances and stock"
  ]
];
