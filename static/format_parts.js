/**
 * Written by `python -m sketcher.server.page_format static` from the document's JSON Schema: change the models or
 * `sketcher/document/labels.py` instead, and run it again.
 */

/** Keys that hold parts with keys of their own: one, one or none, a list, an outline, lists of ids. */
/** @typedef {"one"|"maybe"|"many"|"outline"|"maybe-outline"|"lists"|"map"} Held */
/** @type {Record<string, Record<string, {model: string, held: Held, label: string, help: string}>>} */
export const PARTS = {
  Document: {
    floor: {"model": "Floor", "held": "one", "label": "Floor", "help": ""},
    survey: {"model": "Survey", "held": "one", "label": "Survey", "help": ""},
    photo: {"model": "Photo", "held": "maybe", "label": "Photo", "help": ""},
    boards: {"model": "Board", "held": "many", "label": "Boards", "help": ""},
    devices: {"model": "Device", "held": "many", "label": "Devices", "help": ""},
    loop: {"model": "Loop", "held": "one", "label": "Loop", "help": ""},
    plate: {"model": "Plate", "held": "one", "label": "Plate", "help": ""},
    ports: {"model": "Port", "held": "many", "label": "Ports", "help": ""},
    branches: {"model": "Branch", "held": "many", "label": "Branches", "help": ""},
    channels: {"model": "Channel", "held": "many", "label": "Channels", "help": ""},
    cutouts: {"model": "Cutout", "held": "many", "label": "Cutouts", "help": ""},
    pockets: {"model": "Pocket", "held": "many", "label": "Pockets", "help": ""},
    holes: {"model": "Hole", "held": "many", "label": "Holes", "help": ""},
    keep_outs: {"model": "KeepOut", "held": "many", "label": "Keep outs", "help": ""},
    groups: {"model": "Group", "held": "many", "label": "Groups", "help": ""},
    dimensions: {"model": "Dimension", "held": "many", "label": "Dimensions", "help": ""},
    seal: {"model": "Seal", "held": "one", "label": "Seal", "help": ""},
    shop: {"model": "Shop", "held": "one", "label": "Shop", "help": ""},
    drawing: {"model": "Drawing", "held": "one", "label": "Drawing", "help": ""},
    test_piece: {"model": "TestPiece", "held": "one", "label": "Test piece", "help": ""},
    fit_readings: {"model": "FitReading", "held": "many", "label": "What the test piece showed", "help": ""},
    landings: {"model": "Landing", "held": "many", "label": "Where tubes landed", "help": ""},
    ties: {"model": "Tie", "held": "many", "label": "Placed by survey points", "help": ""},
    spreads: {"model": "Spreads", "held": "one", "label": "Spreads", "help": ""},
    grid: {"model": "Grid", "held": "one", "label": "Grid", "help": ""},
    limits: {"model": "", "held": "map", "label": "Limits of the rules", "help": ""},
    accepted: {"model": "Acceptance", "held": "many", "label": "Accepted findings", "help": ""},
  },
  Board: {
    holes: {"model": "BoardHole", "held": "many", "label": "Mounting holes", "help": "Your own board's holes; the pattern's when none."},
  },
  CableSlot: {
    points: {"model": "Place", "held": "many", "label": "Points", "help": "Corners on its way; straight by the shortest way when none."},
  },
  Channel: {
    points: {"model": "ChannelPoint", "held": "many", "label": "Points", "help": ""},
  },
  Course: {
    points: {"model": "TubePoint", "held": "many", "label": "Corners of the course", "help": ""},
    start_fitting: {"model": "Fitting", "held": "one", "label": "Fitting at the start", "help": ""},
    end_fitting: {"model": "Fitting", "held": "one", "label": "Fitting at the end", "help": ""},
  },
  Cutout: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
    follows: {"model": "Follow", "held": "maybe", "label": "Follows", "help": "What its outline follows; none: it is drawn by hand."},
  },
  Device: {
    outline: {"model": "Outline", "held": "maybe-outline", "label": "Footprint", "help": "Its footprint in its own u and v."},
    ports: {"model": "DevicePort", "held": "many", "label": "Ports", "help": ""},
    holes: {"model": "BoardHole", "held": "many", "label": "Screw holes", "help": "Screw holes of its foot, in its own u and v."},
    curve: {"model": "CurvePoint", "held": "many", "label": "Flow and pressure", "help": "Pressure against flow; for a pump at full speed."},
    conductance: {"model": "ConductancePoint", "held": "many", "label": "Heat given off", "help": ""},
  },
  Dimension: {
    first: {"model": "DimensionEnd", "held": "one", "label": "Measured from", "help": ""},
    second: {"model": "DimensionEnd", "held": "one", "label": "Measured to", "help": ""},
  },
  Floor: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
    obstacles: {"model": "Obstacle", "held": "many", "label": "Obstacles", "help": ""},
    openings: {"model": "Opening", "held": "many", "label": "Openings", "help": ""},
  },
  Hole: {
    follows: {"model": "Follow", "held": "maybe", "label": "Follows", "help": "The mounting hole it follows; none: it stands by itself."},
  },
  KeepOut: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
    follows: {"model": "Follow", "held": "maybe", "label": "Follows", "help": "What its outline follows; none: it is drawn by hand."},
  },
  Loop: {
    coolant: {"model": "Coolant", "held": "one", "label": "Coolant", "help": ""},
    tubes: {"model": "Tube", "held": "many", "label": "Tubes", "help": ""},
    connections: {"model": "", "held": "lists", "label": "Connections", "help": "Ports of the plate that channels are to join; three or more by branches."},
  },
  Obstacle: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
  },
  Opening: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
  },
  Photo: {
    marks: {"model": "PhotoMark", "held": "many", "label": "Marks", "help": ""},
    edges: {"model": "PhotoEdge", "held": "many", "label": "Edges", "help": "Edges that are straight on the floor."},
  },
  PhotoEdge: {
    points: {"model": "Pixel", "held": "many", "label": "Points", "help": ""},
  },
  Plate: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
  },
  Pocket: {
    outline: {"model": "Outline", "held": "outline", "label": "Outline", "help": ""},
    follows: {"model": "Follow", "held": "maybe", "label": "Follows", "help": "What its outline follows; none: it is drawn by hand."},
    cable: {"model": "CableSlot", "held": "maybe", "label": "Cable", "help": "The slot that it is, open to the places it joins; none: it opens into nothing."},
  },
  Polygon: {
    vertices: {"model": "Vertex", "held": "many", "label": "Vertices", "help": ""},
  },
  Port: {
    tube: {"model": "Course", "held": "maybe", "label": "Tube that drops to it", "help": "The tube that drops to it, from this port to the one it serves; straight when none."},
  },
  Survey: {
    tools: {"model": "Tool", "held": "many", "label": "Tools", "help": ""},
    points: {"model": "SurveyPoint", "held": "many", "label": "Points", "help": ""},
    readings: {"model": "Reading", "held": "many", "label": "Readings", "help": ""},
    outlines: {"model": "Surveyed", "held": "many", "label": "Outlines", "help": ""},
  },
  Tie: {
    places: {"model": "Place", "held": "many", "label": "Places", "help": "Where the points were when the item was last placed by them; none: it notes them next time."},
  },
  Tube: {
    points: {"model": "TubePoint", "held": "many", "label": "Corners of the course", "help": ""},
    start_fitting: {"model": "Fitting", "held": "one", "label": "Fitting at the start", "help": ""},
    end_fitting: {"model": "Fitting", "held": "one", "label": "Fitting at the end", "help": ""},
  },
};

/** Keys without a default, by model. @type {Record<string, string[]>} */
export const REQUIRED = {
  Document: ["floor", "plate"],
  Acceptance: ["rule", "items", "reason"],
  Board: ["id"],
  BoardHole: ["id", "u_mm", "v_mm"],
  Branch: ["id", "x_mm", "y_mm"],
  CableSlot: ["start"],
  Channel: ["id", "width_mm", "depth_mm"],
  ChannelPoint: ["x_mm", "y_mm"],
  Circle: ["x_mm", "y_mm", "diameter_mm"],
  ConductancePoint: ["flow_l_min", "conductance_w_k"],
  CurvePoint: ["flow_l_min", "pressure_kpa"],
  Cutout: ["id", "outline"],
  Device: ["id", "kind"],
  DevicePort: ["id"],
  Dimension: ["id"],
  FitReading: ["port"],
  Floor: ["outline"],
  Follow: ["item"],
  Group: ["id"],
  Hole: ["id", "x_mm", "y_mm"],
  KeepOut: ["id", "outline"],
  Landing: ["serves", "x_mm", "y_mm"],
  Obstacle: ["id", "outline", "height_mm"],
  Opening: ["id", "outline"],
  Photo: ["file", "width_px", "height_px"],
  PhotoEdge: ["points"],
  PhotoMark: ["x_px", "y_px", "x_mm", "y_mm"],
  Pixel: ["x_px", "y_px"],
  Place: ["x_mm", "y_mm"],
  Plate: ["outline", "body_thickness_mm", "lid_thickness_mm"],
  Pocket: ["id", "outline", "depth_mm"],
  Polygon: ["vertices"],
  Port: ["id", "x_mm", "y_mm"],
  Reading: ["id", "points", "value"],
  Rectangle: ["x_mm", "y_mm", "width_mm", "depth_mm"],
  Slot: ["x_mm", "y_mm", "length_mm", "width_mm"],
  SurveyPoint: ["id"],
  Surveyed: ["id"],
  Tie: ["item", "points"],
  Tool: ["id", "spread_mm"],
  Tube: ["id", "start", "end"],
  TubePoint: ["x_mm", "y_mm", "z_mm"],
  Vertex: ["x_mm", "y_mm"],
};
