/** English words for the codes of the protocol, the events and the judge. */

/** Names of fields as a question or a label; `fields` of the protocol by name. */
export const fieldWords: Readonly<Record<string, string>> = {
  match: "All match?",
  eye: "Eye",
  allergies: "Allergies",
  contact_s: "Minutes in the eye",
  agent: "Antiseptic",
  model: "Lens model",
  power_cdpt: "Power",
  expiry: "Use by",
  drug: "Drug",
  dye: "Dye",
  strength_ug_ml: "Strength",
  volume_ul: "Volume",
  vial_ug: "Vial",
  diluent_ul: "Diluent",
  take_ul: "Take",
  add_ul: "Add",
  allergy_accepted: "Surgeon said yes aloud, allergy known?",
  labelled: "All labelled?",
  items: "On the tray",
  added: "Added",
  out: "Counted out",
  found_retained: "Found retained in the patient?",
  width_um: "Width",
  diameter_um: "Largest diameter",
  continuous: "Edge continuous?",
  decentration_um: "Off centre by",
  in_eye: "In the eye?",
  lock_checked: "Lock tight?",
  hub_held: "Hub held?",
  detached: "Came off?",
  injury: "Eye injured?",
  mode: "Mode",
  vacuum_mmhg: "Vacuum",
  flow_ul_min: "Flow",
  noticed: "When noticed",
  state: "What is seen",
  vitreous: "Vitreous seen?",
  site: "Where",
  front: "Out in front?",
  behind: "Out behind?",
  syringe_label: "Syringe label",
  sutures: "Sutures",
  method: "Checked with",
  tone: "Eye feels",
  pressure_mmhg: "Eye pressure",
  instrument: "Instrument",
  operation: "Operation read",
  lens: "Lens read",
  problems: "Problems read",
  aftercare: "Aftercare read",
  review: "Follow-up day set",
  pressure_plan: "Pressure plan set",
  retina: "Retina call decided",
  patient_told: "Patient told",
  went_well: "What went well",
  change: "What to change",
  equipment: "Equipment",
  reached_eye: "Reached the eye?",
  optic_um: "Optic",
  dry_state_hydrophilic: "Dry-state hydrophilic lens?",
};

/** Where a field means another thing at one step: "step.field". */
export const fieldWordsAtStep: Readonly<Record<string, string>> = {
  "sign-out.drug": "Drug read",
  "drug-check.then": "Then diluted",
};

/** What a yes or a no to a question means, where "yes" and "no" alone would not say it. */
export const booleanWords: Readonly<Record<string, { readonly yes: string; readonly no: string }>> = {
  match: { yes: "all match", no: "does not match" },
  labelled: { yes: "all labelled", no: "one without label" },
  continuous: { yes: "continuous", no: "edge ran out" },
  vitreous: { yes: "vitreous seen", no: "no vitreous" },
  injury: { yes: "eye injured", no: "eye not injured" },
  detached: { yes: "it came off", no: "stayed on" },
  found_retained: { yes: "found retained", no: "none retained" },
  in_eye: { yes: "in the eye", no: "not in the eye" },
  allergy_accepted: { yes: "surgeon said yes aloud", no: "not said aloud" },
};

export const choiceWords: Readonly<Record<string, string>> = {
  right: "Right eye",
  left: "Left eye",
  topical: "Drops",
  block: "Block",
  general: "General",
  good: "Good",
  poor: "Poor",
  none: "None",
  penicillin_mild: "Penicillin, mild",
  penicillin_severe: "Penicillin, severe",
  cephalosporin: "Cephalosporin",
  fluoroquinolone: "Fluoroquinolone",
  iodine: "Iodine itself",
  latex: "Latex",
  other: "Other",
  povidone_iodine: "Povidone iodine",
  chlorhexidine: "Chlorhexidine, aqueous",
  sculpt: "Sculpt",
  segment: "Segment",
  epinucleus: "Epinucleus",
  cortex: "Cortex",
  polish: "Polish",
  ovd_removal: "Viscoelastic removal",
  vitrectomy: "Vitrectomy",
  before_entry: "Before entering the eye",
  after_entry: "After entering the eye",
  intact: "Intact",
  torn: "Torn",
  bag: "In the bag",
  sulcus: "Sulcus",
  anterior_chamber: "Anterior chamber",
  dry: "Dry",
  leak: "Leak",
  sponge: "Dry sponge",
  fluorescein: "Fluorescein",
  soft: "Soft",
  normal: "Normal",
  firm: "Firm",
  balanced_salt: "Balanced salt",
  applanation: "Applanation",
  rebound: "Rebound",
  indentation: "Indentation",
  sharps: "Sharps",
  cannulas: "Cannulas",
  sponges: "Sponges",
  swabs: "Swabs",
  trypan_blue: "Trypan blue",
  cefuroxime: "Cefuroxime",
  moxifloxacin: "Moxifloxacin",
};

export const roleWords: Readonly<Record<string, string>> = {
  scrub: "scrub",
  circulating: "circulating",
  surgeon: "surgeon",
  anaesthetist: "anaesthetist",
};

export const reasonWords: Readonly<Record<string, string>> = {
  not_needed: "Not needed",
  not_available: "Not available",
  no_time: "No time",
  refused: "Refused",
  other: "Another reason",
  posterior_polar: "Posterior polar cataract",
  list_changed: "List changed",
  patient_unwell: "Patient unwell",
  cancelled: "Cancelled",
};

/** Why a reading was kept after a STOP; the words themselves are stored, sealed. */
export const keptReasons: readonly string[] = [
  "Plan was changed aloud",
  "Plan on the list is out of date",
  "Only this one is available",
  "Surgeon decided on it",
];

export const kindWords: Readonly<Record<string, string>> = {
  omitted: "Not recorded as done",
  out_of_order: "Out of order",
  out_of_tolerance: "Outside the unit's range",
  dose: "Dose differs from plan",
  contraindicated: "Barred by allergy or lens",
  readback_mismatch: "Reading and plan differ",
  wrong_setting: "Mode not for this step",
  hub_not_held: "Hub or lock not held",
  substitution: "Differs from plan",
  count: "Counts differ",
  time_overrun: "Longer than planned",
  equipment: "Equipment failed",
  contamination: "Sterility lost",
  complication: "Something happened to the eye",
  late_entry: "Entered late",
};

/** What can happen to the eye, in the order of the slabs; the code goes into the record. */
export const complications: readonly { readonly what: string; readonly label: string }[] = [
  { what: "capsule_tear", label: "Capsule torn" },
  { what: "vitreous_loss", label: "Vitreous seen" },
  { what: "dropped_fragment", label: "Fragment dropped" },
  { what: "iris_prolapse", label: "Iris came out" },
  { what: "wound_burn", label: "Wound burn" },
  { what: "zonule_loss", label: "Zonules loose" },
  { what: "descemet_detachment", label: "Inner cornea loose" },
  { what: "bleeding", label: "Bleeding" },
  { what: "wrong_eye", label: "Wrong eye" },
  { what: "wrong_patient", label: "Wrong patient" },
];

/** The code's word, or the code itself with its underscores opened when the catalogue has none. */
export function wordFor(words: Readonly<Record<string, string>>, code: string): string {
  const known = Object.hasOwn(words, code) ? words[code] : undefined;
  return known ?? code.replaceAll("_", " ");
}

/** The field's label at this step. */
export function fieldWord(step: string, field: string): string {
  const atStep = `${step}.${field}`;
  return Object.hasOwn(fieldWordsAtStep, atStep)
    ? (fieldWordsAtStep[atStep] ?? field)
    : wordFor(fieldWords, field);
}
