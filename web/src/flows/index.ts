/** Everything that the screens can do. Each promise that stores something resolves when it is durable. */
export { openOffList, openSlot } from "./openCase.ts";
export { makePinKey } from "./pinKey.ts";
export * from "./record.ts";
export type { StoredEvent, Tap } from "./session.ts";
export { sign } from "./sign.ts";
export { enrol, sendNow, start } from "./start.ts";
export { applyUpdate } from "./update.ts";
