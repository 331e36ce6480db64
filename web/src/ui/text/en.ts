/** Every word of the screens, in English. Prompts and answers of the steps stand in the protocol file. */

export * from "./enCodes.ts";
export * from "./enHelp.ts";
export { liveText } from "./enLive.ts";
export { officeText } from "./enOffice.ts";
export { pageText } from "./enPages.ts";
export { reviewText } from "./enReview.ts";
export { shownText } from "./enShown.ts";

export const product = "hubheld";
