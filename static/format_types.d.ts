/**
 * Written by `python -m sketcher.server.page_format static` from the document's JSON Schema: change the models or
 * `sketcher/document/labels.py` instead, and run it again.
 */

export interface PlateDocument {
  version?: 1;
  name?: string;
  note?: string;
  floor: Floor;
  survey?: Survey;
  photo?: Photo | null;
  boards?: Board[];
  devices?: Device[];
  loop?: Loop;
  plate: Plate;
  ports?: Port[];
  branches?: Branch[];
  channels?: Channel[];
  cutouts?: Cutout[];
  pockets?: Pocket[];
  holes?: Hole[];
  keep_outs?: KeepOut[];
  groups?: Group[];
  dimensions?: Dimension[];
  seal?: Seal;
  shop?: Shop;
  drawing?: Drawing;
  test_piece?: TestPiece;
  fit_readings?: FitReading[];
  landings?: Landing[];
  ties?: Tie[];
  spreads?: Spreads;
  grid?: Grid;
  limits?: Record<string, number>;
  accepted?: Acceptance[];
  retired_ids?: string[];
}

export interface Acceptance {
  rule: string;
  items: string[];
  reason: string;
}

export interface Board {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm?: number;
  y_mm?: number;
  z_mm?: number;
  turn_deg?: number;
  roll_deg?: number;
  posture?: "lying" | "standing";
  held_by?: string | null;
  slot?: number | null;
  role?: "mainboard" | "card" | "riser";
  pattern?: string | null;
  width_mm?: number | null;
  depth_mm?: number | null;
  thickness_mm?: number;
  parts_height_mm?: number;
  holes?: BoardHole[];
  slots?: number;
  first_slot_mm?: number | null;
  slot_pitch_mm?: number;
}

export interface BoardHole {
  id: string;
  u_mm: number;
  v_mm: number;
  diameter_mm?: number;
}

export interface Branch {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm: number;
  y_mm: number;
}

export interface CableSlot {
  start: string;
  end?: string | null;
  cable_mm?: number;
  clearance_mm?: number;
  points?: Place[];
  in_step?: boolean;
}

export interface Channel {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  start?: string | null;
  end?: string | null;
  points?: ChannelPoint[];
  width_mm: number;
  depth_mm: number;
  bend_radius_mm?: number;
  roughness_um?: number | null;
}

export interface ChannelPoint {
  x_mm: number;
  y_mm: number;
  bend_radius_mm?: number | null;
}

export interface Circle {
  shape: "circle";
  x_mm: number;
  y_mm: number;
  diameter_mm: number;
}

export interface ConductancePoint {
  flow_l_min: number;
  conductance_w_k: number;
}

export interface Coolant {
  kind?: "water" | "ethylene-glycol" | "propylene-glycol";
  strength_percent?: number;
}

export interface Course {
  size?: string | null;
  material?: "acrylic" | "petg" | "glass" | "copper" | "soft" | null;
  inner_diameter_mm?: number | null;
  outer_diameter_mm?: number | null;
  bend_radius_mm?: number | null;
  points?: TubePoint[];
  start_fitting?: Fitting;
  end_fitting?: Fitting;
  stock_mm?: number[];
}

export interface CurvePoint {
  flow_l_min: number;
  pressure_kpa: number;
}

export interface Cutout {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  outline: Circle | Slot | Rectangle | Polygon;
  follows?: Follow | null;
}

export interface Device {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm?: number;
  y_mm?: number;
  z_mm?: number;
  turn_deg?: number;
  roll_deg?: number;
  posture?: "lying" | "standing";
  held_by?: string | null;
  slot?: number | null;
  kind: "pump" | "block" | "radiator" | "reservoir" | "flow-meter" | "filter" | "valve" | "coupling" | "fan" | "other";
  outline?: Circle | Slot | Rectangle | Polygon | null;
  height_mm?: number;
  ports?: DevicePort[];
  holes?: BoardHole[];
  curve?: CurvePoint[];
  speed_percent?: number;
  check_valve?: boolean;
  flow_min_l_min?: number | null;
  heat_w?: number;
  conductance?: ConductancePoint[];
  air_c?: number | null;
  volume_ml?: number;
  mass_g?: number;
  has_reservoir?: boolean;
  metal?: "copper" | "nickel" | "brass" | "aluminium" | "stainless" | "none";
  hollow?: boolean;
  fans?: number;
  fan_size_mm?: number | null;
  source?: string;
  invented?: boolean;
}

export interface DevicePort {
  id: string;
  u_mm?: number;
  v_mm?: number;
  w_mm?: number;
  flow?: "in" | "out" | "either";
  heading?: "u+" | "u-" | "v+" | "v-" | "w+" | "w-" | null;
  thread?: string | null;
}

export interface Dimension {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  first?: DimensionEnd;
  second?: DimensionEnd;
  direction?: "aligned" | "horizontal" | "vertical";
  offset_mm?: number;
}

export interface DimensionEnd {
  item?: string | null;
  part?: "centre" | "edge" | "corner";
  index?: number;
  x_mm?: number;
  y_mm?: number;
}

export interface Drawing {
  owner?: string;
  creator?: string;
  approver?: string;
  number?: string;
  quantity?: number;
  finish?: string;
  colour?: string;
  paper?: "A3" | "B";
  projection?: "first-angle" | "third-angle";
  note?: string;
}

export interface FitReading {
  port: string;
  dx_mm?: number | null;
  dy_mm?: number | null;
  spread_mm?: number;
  note?: string;
}

export interface Fitting {
  kind?: "straight" | "elbow-45" | "elbow-90" | "rotary";
  bore_mm?: number | null;
  loss_k?: number | null;
  height_mm?: number | null;
  insertion_mm?: number | null;
}

export interface Floor {
  outline: Circle | Slot | Rectangle | Polygon;
  clear_height_mm?: number | null;
  material?: "aluminium" | "steel" | "acrylic" | "other";
  thickness_mm?: number;
  obstacles?: Obstacle[];
  openings?: Opening[];
}

export interface Follow {
  item: string;
  clearance_mm?: number;
  hole?: string | null;
}

export interface Grid {
  pitch_mm?: number;
  x_mm?: number;
  y_mm?: number;
}

export interface Group {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  members?: string[];
}

export interface Hole {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm: number;
  y_mm: number;
  kind?: "through" | "tapped" | "countersunk" | "counterbored";
  screw?: string;
  use?: "mount" | "lid" | "other";
  face?: "top" | "bottom";
  diameter_mm?: number | null;
  depth_mm?: number | null;
  drill_end?: "point" | "flat";
  slot_length_mm?: number | null;
  turn_deg?: number;
  follows?: Follow | null;
}

export interface KeepOut {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  outline: Circle | Slot | Rectangle | Polygon;
  refuses?: ("port" | "channel" | "cutout" | "pocket" | "hole")[];
  follows?: Follow | null;
}

export interface Landing {
  serves: string;
  x_mm: number;
  y_mm: number;
  spread_mm?: number;
}

export interface Loop {
  coolant?: Coolant;
  tube_inner_diameter_mm?: number;
  tube_outer_diameter_mm?: number;
  fitting_bore_mm?: number;
  fitting_straight_mm?: number;
  tube_size?: string | null;
  carry_shift_mm?: number;
  room_c?: number;
  water_limit_c?: number;
  test_pressure_kpa?: number;
  pumps?: "series" | "parallel" | "as-connected";
  tubes?: Tube[];
  connections?: string[][];
}

export interface Obstacle {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  outline: Circle | Slot | Rectangle | Polygon;
  bottom_mm?: number;
  height_mm: number;
}

export interface Opening {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  outline: Circle | Slot | Rectangle | Polygon;
}

export interface Photo {
  file: string;
  width_px: number;
  height_px: number;
  marks?: PhotoMark[];
  edges?: PhotoEdge[];
  opacity?: number;
}

export interface PhotoEdge {
  points: Pixel[];
}

export interface PhotoMark {
  x_px: number;
  y_px: number;
  x_mm: number;
  y_mm: number;
  check?: boolean;
}

export interface Pixel {
  x_px: number;
  y_px: number;
}

export interface Place {
  x_mm: number;
  y_mm: number;
}

export interface Plate {
  outline: Circle | Slot | Rectangle | Polygon;
  body_thickness_mm: number;
  lid_thickness_mm: number;
  lid_face?: "top" | "bottom";
  z_mm?: number;
  sheet?: "cast" | "extruded";
  body_thickness_is?: "nominal" | "measured" | "faced";
  lid_thickness_is?: "nominal" | "measured" | "faced";
  material?: string;
  annealed?: boolean;
}

export interface Pocket {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  outline: Circle | Slot | Rectangle | Polygon;
  depth_mm: number;
  face?: "top" | "bottom";
  must_stay_dry?: boolean;
  follows?: Follow | null;
  cable?: CableSlot | null;
}

export interface Polygon {
  shape: "polygon";
  vertices: Vertex[];
}

export interface Port {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm: number;
  y_mm: number;
  face?: "top" | "bottom" | "edge";
  thread?: string | null;
  thread_depth_mm?: number;
  bore_diameter_mm?: number | null;
  bore_depth_mm?: number | null;
  fitting_diameter_mm?: number;
  heading_deg?: number | null;
  level_mm?: number | null;
  drill_end?: "point" | "flat";
  serves?: string | null;
  tube?: Course | null;
  use?: "loop" | "fill" | "drain" | "bleed" | "sensor" | "plugged";
}

export interface Reading {
  id: string;
  kind?: "distance" | "offset" | "along" | "diameter" | "height" | "x" | "y";
  points: string[];
  wall?: string[] | null;
  value: number;
  unit?: "mm" | "in" | "cm";
  tool?: string;
  set_aside?: boolean;
  note?: string;
}

export interface Rectangle {
  shape: "rectangle";
  x_mm: number;
  y_mm: number;
  width_mm: number;
  depth_mm: number;
  corner_radius_mm?: number;
  turn_deg?: number;
}

export interface Seal {
  kind?: "cord" | "gasket" | "bonded";
  cord_mm?: number;
  cord_tolerance_mm?: number;
  depth_tolerance_mm?: number;
  squeeze_percent?: number;
  fill_percent?: number;
  cord_material?: "EPDM" | "NBR" | "FKM" | "silicone";
  gasket?: "elastomer below 75 Shore A" | "elastomer of 75 Shore A or more" | "elastomer with cotton fabric";
  gasket_mm?: number;
  hardness_shore_a?: number;
  wall_mm?: number;
  screw?: string;
  screw_pitch_mm?: number;
  grooves?: "apart" | "shared" | "one";
  screws_by_rule?: boolean;
  run_out?: "normal" | "short" | "thread-milled";
  insert_pull_n?: number | null;
}

export interface Shop {
  name?: string;
  cutter_diameters_mm?: number[];
  deepest_by_diameter?: number;
  least_wall_mm?: number;
  tolerance_mm?: number;
  stock_thicknesses_mm?: number[];
  sheet_width_mm?: number;
  sheet_depth_mm?: number;
  feed_mm_min?: number;
  step_down_diameters?: number;
  step_over_diameters?: number;
  drill_feed_mm_min?: number;
  thread_minutes?: number;
  clamp_minutes?: number;
  tool_minutes?: number;
  laser_mm_s?: number;
  stock_margin_mm?: number;
}

export interface Slot {
  shape: "slot";
  x_mm: number;
  y_mm: number;
  length_mm: number;
  width_mm: number;
  turn_deg?: number;
}

export interface Spreads {
  hardware_mm?: number;
  part_mm?: number;
  standoff_mm?: number;
  seating_mm?: number;
  making_mm?: number;
  bow_mm?: number;
  warming_k?: number;
  landing_offset_mm?: number;
  landing_angle_deg?: number;
  least_chance_percent?: number;
  sheet_cost?: number;
  plate_cost?: number;
}

export interface Survey {
  tools?: Tool[];
  points?: SurveyPoint[];
  origin?: string | null;
  along_x?: string | null;
  readings?: Reading[];
  outlines?: Surveyed[];
}

export interface SurveyPoint {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm?: number | null;
  y_mm?: number | null;
  z_mm?: number | null;
}

export interface Surveyed {
  id: string;
  name?: string;
  what?: "floor" | "obstacle" | "opening";
  corners?: string[];
  centre?: string | null;
  height_mm?: number | null;
}

export interface TestPiece {
  material?: string;
  thickness_mm?: number;
  kerf_mm?: number;
  port_holes?: "tube" | "bore" | "fitting";
  tabs?: number;
  tab_width_mm?: number;
  sheet_width_mm?: number;
  sheet_depth_mm?: number;
}

export interface Tie {
  item: string;
  points: string[];
  places?: Place[];
}

export interface Tool {
  id: string;
  name?: string;
  spread_mm: number;
  jaw_mm?: number | null;
}

export interface Tube {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  size?: string | null;
  material?: "acrylic" | "petg" | "glass" | "copper" | "soft" | null;
  inner_diameter_mm?: number | null;
  outer_diameter_mm?: number | null;
  bend_radius_mm?: number | null;
  points?: TubePoint[];
  start_fitting?: Fitting;
  end_fitting?: Fitting;
  stock_mm?: number[];
  start: string;
  end: string;
  length_mm?: number | null;
}

export interface TubePoint {
  x_mm: number;
  y_mm: number;
  z_mm: number;
  bend_radius_mm?: number | null;
}

export interface Vertex {
  x_mm: number;
  y_mm: number;
  corner_radius_mm?: number;
  bulge?: number;
}

export type Outline = Circle | Slot | Rectangle | Polygon;

export interface Kinds {
  "port": Port;
  "branch": Branch;
  "channel": Channel;
  "cutout": Cutout;
  "pocket": Pocket;
  "hole": Hole;
  "keep-out": KeepOut;
  "obstacle": Obstacle;
  "opening": Opening;
  "board": Board;
  "device": Device;
  "tube": Tube;
  "dimension": Dimension;
  "group": Group;
}

export type Kind = keyof Kinds;

/** An item whose kind nobody has asked for yet: every key of every kind. */
export interface Item {
  id: string;
  name?: string;
  note?: string;
  locked?: boolean;
  x_mm?: number;
  y_mm?: number;
  face?: "bottom" | "edge" | "top";
  thread?: null | string;
  thread_depth_mm?: number;
  bore_diameter_mm?: null | number;
  bore_depth_mm?: null | number;
  fitting_diameter_mm?: number;
  heading_deg?: null | number;
  level_mm?: null | number;
  drill_end?: "flat" | "point";
  serves?: null | string;
  tube?: Course | null;
  use?: "bleed" | "drain" | "fill" | "lid" | "loop" | "mount" | "other" | "plugged" | "sensor";
  start?: null | string;
  end?: null | string;
  points?: ChannelPoint[] | TubePoint[];
  width_mm?: null | number;
  depth_mm?: null | number;
  bend_radius_mm?: null | number;
  roughness_um?: null | number;
  outline?: Circle | Polygon | Rectangle | Slot | null;
  follows?: Follow | null;
  must_stay_dry?: boolean;
  cable?: CableSlot | null;
  kind?: "block" | "counterbored" | "countersunk" | "coupling" | "fan" | "filter" | "flow-meter" | "other" | "pump" | "radiator" | "reservoir" | "tapped" | "through" | "valve";
  screw?: string;
  diameter_mm?: null | number;
  slot_length_mm?: null | number;
  turn_deg?: number;
  refuses?: ("port" | "channel" | "cutout" | "pocket" | "hole")[];
  bottom_mm?: number;
  height_mm?: number;
  z_mm?: number;
  roll_deg?: number;
  posture?: "lying" | "standing";
  held_by?: null | string;
  slot?: null | number;
  role?: "card" | "mainboard" | "riser";
  pattern?: null | string;
  thickness_mm?: number;
  parts_height_mm?: number;
  holes?: BoardHole[];
  slots?: number;
  first_slot_mm?: null | number;
  slot_pitch_mm?: number;
  ports?: DevicePort[];
  curve?: CurvePoint[];
  speed_percent?: number;
  check_valve?: boolean;
  flow_min_l_min?: null | number;
  heat_w?: number;
  conductance?: ConductancePoint[];
  air_c?: null | number;
  volume_ml?: number;
  mass_g?: number;
  has_reservoir?: boolean;
  metal?: "aluminium" | "brass" | "copper" | "nickel" | "none" | "stainless";
  hollow?: boolean;
  fans?: number;
  fan_size_mm?: null | number;
  source?: string;
  invented?: boolean;
  size?: null | string;
  material?: "acrylic" | "copper" | "glass" | "petg" | "soft" | null;
  inner_diameter_mm?: null | number;
  outer_diameter_mm?: null | number;
  start_fitting?: Fitting;
  end_fitting?: Fitting;
  stock_mm?: number[];
  length_mm?: null | number;
  first?: DimensionEnd;
  second?: DimensionEnd;
  direction?: "aligned" | "horizontal" | "vertical";
  offset_mm?: number;
  members?: string[];
}

export interface KindInfo {
  kind: Kind;
  part: "Port" | "Branch" | "Channel" | "Cutout" | "Pocket" | "Hole" | "KeepOut" | "Obstacle" | "Opening" | "Board" | "Device" | "Tube" | "Dimension" | "Group";
  path: string[];
  letter: string;
  title: string;
  plural: string;
}

/** How the page asks for a value. */
export interface FieldFormat {
  label: string;
  type: "length" | "angle" | "percent" | "temperature" | "pressure" | "heat" | "number" | "flow" | "volume" | "conductance" | "force" | "roughness" | "text" | "choice" | "several" | "yes" | "ids" | "numbers";
  least?: number;
  most?: number;
  above?: number;
  optional?: boolean;
  whole?: boolean;
  options?: string[][];
  help?: string;
}
