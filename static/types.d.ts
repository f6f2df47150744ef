/** The shapes of data that the modules share, for type checking only: nothing here runs. */

import type { Item, Kind, Outline, PlateDocument } from "./format_types.js";
import type { createActions } from "./actions.js";
import type { createStage } from "./canvas/stage.js";
import type { Tool } from "./canvas/tools.js";
import type { api } from "./server/api.js";
import type { createStore } from "./store.js";

export type { Item, Kind, Kinds, Outline, PlateDocument } from "./format_types.js";
export type { Tool } from "./canvas/tools.js";

/** A place on the floor in mm (x to the right, y to the rear), or on the screen in px. */
export type Point = [number, number];
export type Box = [number, number, number, number];
export type Unit = "mm" | "in";
export type Level = "error" | "warning" | "note";
export type Path = (string | number)[];
/** What a part of the page keeps between two drawings. any: each part keeps what it needs there, under its own names. */
export type Memory = Record<string, any>;

/** A finding as the server sends it; what would end it is said under the key `mend`. */
export interface Finding {
  rule: string;
  level: Level;
  items: string[];
  value: number | null;
  limit: number | null;
  unit: string;
  at: Point | null;
  message: string;
  mend: string;
  line: [Point, Point] | null;
  fix: Fix | null;
  accepted: string;
  listed?: Listed[];
}
/** One of the things that a finding lists. */
export interface Listed {
  items: string[];
  value: number | null;
  at: Point | null;
}
/** One of the four questions: its open findings, and what it did not look at, as sentences. */
export interface QuestionAnswer {
  question: string;
  counts: Record<Level, number>;
  not_looked_at: string[];
}
export interface Fix {
  label: string;
  changes: { pointer: string; value: unknown }[];
}

export interface Snap {
  point: Point;
  kind: string;
  label: string;
  guides: [Point, Point][];
}
export interface SnapPlace {
  point: Point;
  kind: string;
  label: string;
}

/** A corner of a channel or of an outline that is chosen, or an outline's edge from that corner on. */
export interface Spot {
  id: string;
  index: number;
  edge?: boolean;
}
export interface View {
  scale: number;
  x: number;
  y: number;
}
export type LayerState = "shown" | "dimmed" | "hidden";

/** A plate's state on the server: its number, and what would be undone or redone, in words. */
export interface Plate {
  id: string;
  state: number;
  canUndo: string;
  canRedo: string;
}
/** A plate as the server sends it. */
export interface StoredPlate {
  id: string;
  state: number;
  document: PlateDocument;
  can_undo: string;
  can_redo: string;
}

/** All that the page knows at one moment. */
export interface State {
  plate: Plate | null;
  /** Empty until a plate is open. */
  document: PlateDocument;
  draft: PlateDocument | null;
  selection: string[];
  spot: Spot | null;
  view: View;
  size: Point;
  tool: Tool | null;
  course: (string | Point)[];
  measure: Point[];
  /** What the measured places refer to. */
  measureEnds: import("./format_types.js").DimensionEnd[];
  marquee: [Point, Point] | null;
  sectionLine: Point[] | null;
  section: SectionAnswer | null;
  snap: Snap | null;
  snapping: boolean;
  /** Whether channels are laid again while something is dragged. */
  rerouting: boolean;
  pointer: Point | null;
  /** What stands for the pointer when the keyboard is used. */
  cursor: Point | null;
  cursorShown: boolean;
  /** A ghost of the test piece that is being dragged. */
  ghost: { port: string; reading: Point } | null;
  /** The chances as last worked out, and the document that they are of. */
  sure: { document: PlateDocument; tubes: SurenessAnswer["tubes"] } | null;
  /** Counts edits of the survey that were made here: what is tied follows them. */
  surveyEdits: number;
  /** Two survey points that were clicked for a reading. */
  reading: [string, string] | null;
  /** A proposal that is looked at, not yet taken. */
  preview: PlateDocument | null;
  /** Whether the elevations are open under the plan. */
  elevations: boolean;
  /** What is being turned by its handle: about where, to where, by how much. */
  turning: { pivot: Point; at: Point; deg: number } | null;
  hover: string | null;
  finding: Finding | null;
  step: string;
  answer: Answer | null;
  reference: Reference | null;
  photoPlace: PhotoPlace | null;
  revisions: Revision[];
  tab: string;
  /** Whether findings and items are open; auto: while something is selected, or where there is room. */
  margin: "auto" | "open" | "shut";
  layers: Record<string, LayerState>;
  heights: boolean;
  ellipseScale: number;
  unit: Unit;
  theme: "auto" | "light" | "dark";
  link: string;
  /** Why what is shown is not about the plate as it is now; empty when it is. */
  old: string;
  /** Whether fixes are being tried, so that none is offered yet. */
  trying: boolean;
}

export type Store = ReturnType<typeof createStore<State>>;
export type Actions = ReturnType<typeof createActions>;
export type Stage = ReturnType<typeof createStage>;
export type Api = typeof api;

/** A dimension line as it is drawn: its value, and the places that it measures between; or why it is not drawn. */
export interface DrawnDimension {
  value_mm: number | null;
  why: string;
  first: Point | null;
  second: Point | null;
}

/** What the server says of a document: parts that were not asked for stay as they were. */
export interface Answer {
  drawing?: { svg: string; box: Box; dimensions?: Record<string, DrawnDimension> } | null;
  findings?: Finding[] | null;
  counts?: Record<Level, number> | null;
  /** Whether nothing is cut into the plate yet. */
  empty?: boolean | null;
  questions?: QuestionAnswer[] | null;
  /** Whether the rules that take long were left out. */
  quick?: boolean;
  /** How many findings there are beside those that are listed. */
  more?: number;
  flow?: FlowAnswer | null;
  seal?: SealAnswer | null;
  lid?: LidAnswer | null;
  survey?: SurveyAnswer | null;
  snaps?: SnapPlace[];
  /** Why a part is not there. */
  reasons?: Record<string, string>;
}
/** The same as the server sends it. */
/** A piece of a list: of the one before, or new rows. */
export type ListPiece<T> = { start: number; count: number } | { rows: T[] };
export interface RawAnswer extends Omit<Answer, "snaps" | "reasons"> {
  /** The name of the document, to ask on from, and what differs from the answer asked on from. */
  known?: string | null;
  differences?: {
    findings?: ListPiece<Finding>[] | null;
    flow?: (Partial<Omit<FlowAnswer, "elements">> & { elements?: ListPiece<FlowElement>[] }) | null;
    drawing?: (Omit<NonNullable<Answer["drawing"]>, "svg"> & { rows: ListPiece<string>[] }) | null;
    snaps?: object | null;
  } | null;
  snaps?: { places: { x_mm: number; y_mm: number; kind: string; label: string }[] } | null;
  missing?: Record<string, string>;
  elevations?: Partial<Record<Side, ElevationAnswer>> | null;
}

/** From where the case is seen level. */
export type Side = "front" | "rear" | "left" | "right";
/** What a drag of one mm up, and to the right of the picture, adds to numbers of the document. */
export interface ItemMove {
  up: { pointer: string; per_mm: number }[];
  right: { pointer: string; per_mm: number }[];
}
export interface ElevationAnswer {
  svg: string;
  box: Box;
  axis: "x" | "y";
  sign: number;
  moves: Record<string, ItemMove>;
}

export interface FlowElement {
  id: string;
  kind: string;
  pressure_drop_kpa: number | null;
  velocity_m_s?: number;
  width_mm?: number;
  depth_mm?: number;
  length_mm?: number;
  hydraulic_diameter_mm?: number;
  reynolds?: number;
  friction_factor?: number | null;
  friction_kpa?: number;
  minor_loss_coefficient?: number | null;
  minor_kpa?: number;
  flow_l_min?: number;
}
export interface FlowAnswer {
  operating_point: { flow_l_min: number; pump_pressure_kpa: number } | null;
  elements: FlowElement[];
  temperatures: { id: string; inlet_c: number | null; outlet_c: number | null; heat_w: number }[];
  volume_l: number;
}
/** What takes the server a few solutions more. */
export interface FurtherAnswer {
  orders: {
    order: string[];
    inlet_c: Record<string, number>;
    present: boolean;
    difference_k: Record<string, number>;
  }[];
  half_speed: { flow_l_min: number; pump_pressure_kpa: number; inlet_c: Record<string, number> } | null;
  widening: { id: string; wider_2mm_gains_l_min: number | null; deeper_2mm_gains_l_min: number | null }[];
  plots: Plot[];
}
export interface Plot {
  title: string;
  words: string;
  svg: string;
  file: string;
}
export interface SealAnswer {
  kind: string;
  problem: string;
  gland: {
    depth_mm: number;
    width_mm: number;
    squeeze: { nominal: number };
    fill: { nominal: number };
  } | null;
  cord_length_mm: number;
  loops: { items: string[]; length_mm: number }[];
  missing: { why: string; items: string[] }[];
  /** Lid screws that are worked out, not stored; null when the document has its own. */
  by_rule?: ScrewDesign | null;
}
/** Lid screws as designed: thread, spacing and grooves go with the holes. */
export interface ScrewDesign {
  holes: (Omit<Item, "id"> & { id?: string })[];
  pitch_mm: number;
  screw: string;
  grooves: string;
  chose: string;
  problems: string[];
}
export interface LidAnswer {
  bent: {
    what: string;
    items: string[];
    short_span_mm: number;
    deflection_mm: number;
    stress_mpa: number;
    thickness_mm: number;
    head_stress_mpa?: number | null;
    load: string;
  }[];
  torque?: {
    text: string;
    screws: { id: string; least_n_m: number; most_n_m: number; limited_by: string }[];
  } | null;
  pressure_test?: { text: string; enough: boolean };
}

export interface SurveyedPoint {
  id: string;
  x_mm: number;
  y_mm: number;
  sigma_x_mm: number;
  sigma_y_mm: number;
  loose: boolean;
}
export interface ReadingWish {
  kind: string;
  points: string[];
  wall: string[] | null;
  words: string;
  tightens: string;
  before_mm: number;
  after_mm: number;
}
/** The further reading that would tell rivals apart; `again`: the rival that it repeats. */
export interface DecidingWish {
  kind: string;
  points: string[];
  wall?: string[] | null;
  words: string;
  again: string | null;
  settles: boolean;
}
export interface SurveyedReading {
  id: string;
  adjusted_mm: number | null;
  residual_mm: number | null;
  standardised_residual: number | null;
  suspect: boolean;
  rival?: boolean;
  used: boolean;
  probably: { value: number; unit: "mm" | "cm" | "in"; why: string }[];
}
export interface SurveyAnswer {
  points: SurveyedPoint[];
  readings: SurveyedReading[];
  redundancy: number;
  agrees?: boolean;
  rivals?: { id: string; words: string; measured_mm: number; if_wrong_mm: number | null }[];
  decides?: DecidingWish | null;
  datum: { origin: string | null; along_x: string | null };
  loose: { points?: string[]; readings: ReadingWish[] }[];
  mirrored: { decided_by: string; reading: ReadingWish | null }[];
  units?: UnitDoubt[];
  advice: ReadingWish[];
  messages: string[];
}
/** Readings that may be in another unit than was typed, and how large the floor would be then. */
export interface UnitDoubt {
  readings: string[];
  typed: "mm" | "cm" | "in";
  unit: "mm" | "cm" | "in";
  width_mm: number;
  depth_mm: number;
  because: string;
  words: string;
}

export interface SectionAnswer {
  svg?: string;
  pieces?: { id: string; part: string; start: number; end: number; low: number; high: number }[];
  reason?: string;
}
/** Brown and Conrady's coefficients in half diagonals, and the map beneath them from the floor, mm, to straightened places. */
export interface Lens {
  k1: number;
  k2: number;
  sigma_k1: number;
  sigma_k2: number;
  known: boolean;
  centre_px: number[];
  radius_px: number;
  from_floor: number[][];
}
export interface PhotoPlace {
  answer?: { matrix: number[][]; trust_mm: number | null; within_mm: number; lens: Lens; messages: string[] };
  problem?: string;
}
export interface Revision {
  number: number;
  kind: string;
  label: string;
  reason: string;
  made: string;
  files: Record<string, string>;
}
export interface Rule {
  name: string;
  title: string;
  question: string;
  limit: number | null;
  unit: string;
  reason: string;
  source: string;
}
export interface Caution {
  title: string;
  text: string;
  defer: string;
  steps: string[];
}
export interface Reference {
  rules: Rule[];
  cautions: Caution[];
  sheets?: { name: string; title: string; about: string; formats: string[] }[];
  fans: { size_mm: number }[];
}
/** How a trial of the test piece came out. */
export interface FitAnswer {
  residuals: { port: string; dx_mm: number | null; dy_mm: number | null; suspect: boolean }[];
  moves: { port: string; dx_mm: number; dy_mm: number }[];
  moved_with: Record<string, string>;
  doubted: string[];
  whole: { stands_out: boolean; told: boolean };
  messages: string[];
  fit_readings: PlateDocument["fit_readings"];
}
/** New channels in figures: losses at `flow_l_min`, counts of all findings with them in place. */
export interface ProposalFigures {
  connected: string[][];
  channels: string[];
  width_mm: number;
  depth_mm: number;
  loss_kpa: number;
  least_loss_kpa: number;
  flow_l_min: number;
  length_mm: number;
  bends: number;
  milling_mm3: number;
  tidiness: number;
  parallel: number;
  along_edges: number;
  mirrored: number;
  changed_mm: number;
  screw: string;
  lid_screws: number;
  /** Values of the plate that it changes beside channels and lid screws. */
  changes: { pointer: string; words: string }[];
  counts: Record<Level, number>;
}
/** An error that stands in the best draft; `stood_before`: no channel brought it. */
export interface ProposalFailure {
  rule: string;
  items: string[];
  message: string;
  remedy: string;
  stood_before: boolean;
}
/** One way to lay the channels, as a whole document. */
export interface Alternative extends ProposalFigures {
  style: string;
  look: string | null;
  best_at: string[];
  document: PlateDocument;
}
/** A connection without a way, and the move of one item that makes room, when one was found. */
export interface Unconnected {
  ports: string[];
  why: string;
  move: { item: string; dx_mm: number; dy_mm: number } | null;
}
export interface ProposalAnswer extends ProposalFigures {
  unconnected: Unconnected[];
  passes: boolean;
  /** Only such as pass every rule; where none does, `drafts` are what came nearest and `failures` says why. */
  alternatives: Alternative[];
  drafts: Alternative[];
  failures: ProposalFailure[];
  /** Where groove and lid screws find too little room. */
  short: string[];
  /** Why there are fewer than three alternatives; empty where there are three. */
  few: string;
  /** The processor was too slow for the whole search. */
  late: boolean;
  tried: { words: string; left: string }[];
}
export interface ProposalState {
  state: "running" | "done" | "cancelled" | "failed";
  attempts: number;
  answer: ProposalAnswer | null;
}
/** The document with the smallest plate, some corners perhaps cut away: not saved yet. */
export interface SmallestPlate {
  document: PlateDocument;
  width_mm: number;
  depth_mm: number;
  before_width_mm: number;
  before_depth_mm: number;
  smaller_percent: number;
  notches: number;
  why: string;
}
/** An order of the devices, with how simple it makes the plate and what it costs in °C. */
export interface DeviceOrder {
  order: string[];
  connections: string[][];
  length_mm: number;
  crossings: number;
  warmest_block_c: number | null;
  costs_c: number | null;
  present: boolean;
}
/** The document with its ports under the tubes: not saved yet. */
export interface PortsAnswer {
  document: PlateDocument;
  moves: {
    port: string;
    serves: string;
    dx_mm: number;
    dy_mm: number;
    off_mm: number;
    face: string;
    turned: boolean;
    new: boolean;
    why: string;
  }[];
  left: { port: string; why: string }[];
  channels: string[];
}
/** Chances, 0 to 1; of all tubes together null when no tube drops to the plate. */
export interface SurenessAnswer {
  chance: number | null;
  before_trial: number | null;
  tubes: {
    port: string;
    serves: string;
    chance: number;
    sigma_mm: number;
    allowed_mm: number;
    offset_mm: number[];
    at_mm: number[];
    ellipse: { semi_major_mm: number; semi_minor_mm: number; turn_deg: number };
    shares: Record<string, number>;
  }[];
  clearances: { items: string[]; chance: number; gap_mm: number; sigma_mm: number }[];
  advice: { do: string; chance: number; kind: string }[];
  limit_percent: number;
  messages: string[];
  assumed: string[];
}
export interface ListedPlate {
  id: string;
  name: string;
  changed: string;
  deleted: boolean;
  fault: string;
}

/** What an element can hold: nodes, words, nothing, and lists of these. */
export type Child = Node | string | number | null | undefined | false | readonly Child[];
/** Attributes, properties and listeners of an element; `null` and `false` leave one out. */
export type Props = Record<string, unknown>;

type TagOf<T extends string> = T extends `${infer N}.${string}` ? N : T;
export type ElementOf<T extends string> =
  TagOf<T> extends keyof HTMLElementTagNameMap ? HTMLElementTagNameMap[TagOf<T>] : HTMLElement;
export type SvgOf<T extends string> =
  TagOf<T> extends keyof SVGElementTagNameMap ? SVGElementTagNameMap[TagOf<T>] : SVGElement;
type Listeners<E> = {
  [K in keyof HTMLElementEventMap as `on${K}`]?: (event: HTMLElementEventMap[K] & { currentTarget: E }) => unknown;
};
export type PropsOf<T extends string> = Listeners<ElementOf<T>> & Props;
/** What a field of the page can hold; `null` when it is left empty. */
export type FieldValue = string | number | boolean | string[] | number[] | null;
/** How far items reach in plan (null for one without a shape), their centres, between which heights they lie, and the clear gap if they are two, mm. */
export interface Measured {
  extents: Record<string, Box | null>;
  centres: Record<string, Point | null>;
  heights: Record<string, [number, number] | null>;
  gap_mm: number | null;
}
