/** Instants of events, computed from what was stored at the tap alone; ids that sort by time (RFC 9562, version 7). */
import { isObject, type Json, type JsonObject } from "./json.ts";

/** The clock of one tap. `offset_ms`: server clock minus this one, as known then; null where it never was heard. */
export interface TapClock {
  readonly wall_ms: number;
  readonly mono_ms: number;
  readonly boot: string;
  readonly utc_offset_min: number;
  /** How long ago it was said to have happened. */
  readonly ago_ms: number;
  readonly offset_ms: number | null;
  readonly offset_error_ms: number | null;
}

export interface Instants {
  readonly at_ms: number;
  readonly entered_ms: number;
}

/** When an event happened and when it was tapped; null where its clock cannot be read. */
export function instantsOf(clock: Json | undefined): Instants | null {
  if (!isObject(clock)) return null;
  const { wall_ms, ago_ms, offset_ms } = clock;
  if (typeof wall_ms !== "number" || typeof ago_ms !== "number") return null;
  if (typeof offset_ms !== "number" && offset_ms !== null) return null;
  const entered_ms = wall_ms + (offset_ms ?? 0);
  const at_ms = entered_ms - ago_ms;
  return Number.isSafeInteger(entered_ms) && Number.isSafeInteger(at_ms) ? { at_ms, entered_ms } : null;
}

/** The server's clock minus ours, and how far that may be wrong. */
export interface ClockOffset {
  readonly offset_ms: number;
  readonly error_ms: number;
}

/** Measured by one call: the server read its clock at some time between `sent_ms` and `answered_ms` of ours. */
export function measuredOffset(sent_ms: number, answered_ms: number, server_ms: number): ClockOffset {
  const half_ms = Math.max(0, answered_ms - sent_ms) / 2;
  return { offset_ms: Math.round(server_ms - (sent_ms + half_ms)), error_ms: Math.ceil(half_ms) };
}

// Far beyond what two measurements of one steady clock can differ by: the clock itself was set.
const CLOCK_WAS_SET_MS = 1_000;

/**
 * The offset to store from now on. While a case is open a steady clock keeps its offset, so that two of its events are
 * not moved against each other; a clock that was set is followed at once.
 */
export function offsetFrom(
  known: ClockOffset | null,
  measured: ClockOffset,
  isCaseOpen: boolean,
): ClockOffset {
  if (known === null) return measured;
  const apart_ms = Math.abs(measured.offset_ms - known.offset_ms);
  const isSteady = apart_ms <= known.error_ms + measured.error_ms + CLOCK_WAS_SET_MS;
  return isCaseOpen && isSteady ? known : measured;
}

/** What both clocks of the device said at one moment; `mono_ms` only runs on, within one `boot`. */
export type BothClocks = Pick<TapClock, "wall_ms" | "mono_ms" | "boot">;

/**
 * How far the wall clock was set back between two readings; 0 where it was not. One that was set forward cannot be
 * told from a device that slept, whose steady clock may have stood still.
 */
export function setBack_ms(before: BothClocks, now: BothClocks): number {
  if (before.boot !== now.boot) return 0;
  const behind_ms = Math.round(now.mono_ms - before.mono_ms - (now.wall_ms - before.wall_ms));
  return behind_ms > CLOCK_WAS_SET_MS ? behind_ms : 0;
}

const HEX = 16;

/** A version 7 UUID: 48 bits of Unix time in ms, 74 random bits (10 random bytes are needed). */
export function uuid7(unix_ms: number, random: Uint8Array): string {
  const time = unix_ms.toString(HEX).padStart(12, "0").slice(-12);
  const [a = 0, b = 0, c = 0, ...rest] = random;
  const bytes = [0x70 | (a & 0x0f), b, 0x80 | (c & 0x3f), ...rest.slice(0, 7)];
  const hex = time + bytes.map((byte) => byte.toString(HEX).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** The clock as it stands in an event. */
export function clockJson({ wall_ms, mono_ms, ...rest }: TapClock): JsonObject {
  return { wall_ms: Math.floor(wall_ms), mono_ms: Math.floor(mono_ms), ...rest };
}
