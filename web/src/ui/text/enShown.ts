/** English words that values, numbers and readings are made of. */

export const shownText = {
  about: (amount: string) => `about ${amount}`,
  range: (low: string, high: string) => `${low} to ${high}`,
  orMore: (low: string) => `${low} or more`,
  upTo: (high: string) => `up to ${high}`,
  whole: "a whole number",
  inSteps: (step: string) => `in steps of ${step}`,
  and: " and ",
  none: "none",
  yes: "yes",
  no: "no",
  noneToCount: "none to count",
  hub: {
    lock: "lock not checked",
    hub: "hub not held",
    off: "it came off",
    injured: "eye injured",
    held: "tight and held",
  },
  notInEye: "not in the eye",
  vitreous: "vitreous seen",
  overlap: (least: string) => `overlap all round, at least ${least}`,
  ofOptic: (optic: string) => `of ${optic}`,
  overlapRead: (optic: string, opening: string) => `Lens ${optic}, opening ${opening}`,
  hubPicture: { read: "Syringe: lock tight, hub held between two fingers", lock: "lock", hub: "hub, held" },
  identity: { read: "Does not match", plan: "Name, birth date and operation match" },
  useBy: (day: string) => `Use by ${day}`,
  recordedAllergy: (allergies: string) => `Recorded allergy: ${allergies}`,
  dryStateLens: (model: string) => `Dry-state lens ${model}`,
  listDone: (list: string, added: number, changed: number, withdrawn: number) =>
    `${list}: ${added} new, ${changed} changed, ${withdrawn} taken off`,
} as const;
