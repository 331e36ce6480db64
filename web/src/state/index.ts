/** Everything the screens read. */
export * from "./cases.ts";
export * from "./device.ts";
export * from "./keeping.ts";
export * from "./now.ts";
export * from "./unit.ts";
export * from "./update.ts";
