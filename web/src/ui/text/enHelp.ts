/** English words of the help page: what the app is, its cautions, the keyboard, working with no network. */

export interface HelpPart {
  readonly title: string;
  readonly lines: readonly string[];
}

/** Stands on first run, in help, and at the foot of the week page. */
export const firstCaution =
  "This records what the team says and does. It does not diagnose, advise treatment, set or read any machine, or calculate a lens.";

export const helpParts: readonly HelpPart[] = [
  {
    title: "What this is",
    lines: [
      firstCaution,
      "A tick is a record that somebody said it. It does not show that it was done, or done well.",
      "Grades G1 to G4 say what happened to a barrier, not to the patient and not who did it.",
    ],
  },
  {
    title: "One case",
    lines: [
      "Open the case from today's list. One step stands large; tap the answer that was said.",
      "The line above is what was just recorded. Undo takes it back for ten seconds; after that, Correct. The first entry stays visible.",
      "Not done asks for one reason. Something happened records what no step asks.",
      "STOP means that the reading and the plan differ, or a dose, drug or dye is not as planned. The reading is already recorded: read again, say it was a slip, or keep it and say why.",
      "All steps shows every step; any of them can be opened at any time. Say there when it happened.",
      "At the end the surgeon answers each deviation and signs. Signing means: I have seen and answered. It does not mean all is well.",
    ],
  },
  {
    title: "Cautions",
    lines: [
      "Every value offered is set by your unit. Check against your preference card and the drug label.",
      "A dose shown here is arithmetic on what you entered. It cannot see the vial, the mixing or the syringe.",
      "A cefuroxime vial holds far more than one dose: 5 mL against 0.1 mL. The whole content must not be given.",
      "Vancomycin is not in the list of antibiotics: regulators advise against it inside the eye because of blinding retinal vasculitis. Entering it stops.",
      "The blue dye is contraindicated with a dry-state hydrophilic lens.",
      "For iodine allergy use only the aqueous eye preparation of your unit's policy.",
      "Dry on a sponge today is not watertight: 48.8 % of 500 clear corneal wounds leaked by themselves, 97.6 % with up to one ounce of force.",
      "Eye pressure without an instrument is felt, not measured.",
      "Weekly rates are associations in small numbers; they are not a measure of any person.",
    ],
  },
  {
    title: "With no network",
    lines: [
      "Everything from opening a case to signing it works with the network off.",
      "Stored here means that it is written to this tablet. Server has it means that the server has signed for it. They are two facts.",
      "Cannot reach server: carry on. Entries wait here and go by themselves when the network is back, or by Send now.",
      "Never clear this browser's data while entries wait here.",
    ],
  },
  {
    title: "Keyboard",
    lines: [
      "Tab and Shift with Tab move through everything that can be pressed, in the order of reading.",
      "Enter or Space presses. The arrow keys of a page scroll it.",
      "Escape closes a card that lies over a step and goes back to the step.",
      "In a number field type the number with . or , and press Enter.",
    ],
  },
  {
    title: "The tablet",
    lines: [
      "Set its brightness to about a quarter to a third and switch automatic brightness off.",
      "Day theme and night theme are chosen on the page Where the record is.",
      "The screen stays awake while a case is open. There is no sound; STOP vibrates once where the device can.",
      "To install on a phone or tablet: the browser's menu, Install or Add to Home Screen.",
    ],
  },
];

/** The cautions that stand beside what they are about. */
export const cautions = {
  defaults: "Set by your unit. Check against your preference card and the drug label.",
  dose: "Arithmetic on what you entered. It cannot see the vial, the mixing or the syringe.",
  vial: "A cefuroxime vial holds far more than one dose: 5 mL against 0.1 mL. Never give the whole content.",
  seal: "Dry on a sponge today is not watertight: 48.8 % of 500 clear corneal wounds leaked by themselves, 97.6 % with up to one ounce of force.",
  pressure: "Felt, not measured, unless an instrument is named.",
  antiseptic: "For iodine allergy only the aqueous eye preparation of your unit's policy.",
  dryStateDye: "The planned lens is dry-state hydrophilic: the blue dye is contraindicated.",
} as const;
