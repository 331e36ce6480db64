/** Instants and spans of time as people read them, in the unit's time zone. */

const MINUTE_S = 60;

/** "0:06", "12:05", "1:02:03": minutes and seconds since something. */
export function span(from_ms: number, to_ms: number): string {
  const seconds = Math.max(0, Math.floor((to_ms - from_ms) / 1000));
  const minutes = Math.floor(seconds / MINUTE_S);
  const rest = two(seconds % MINUTE_S);
  if (minutes < 60) return `${minutes}:${rest}`;
  return `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${rest}`;
}

/** "14:05" on the unit's clock. */
export function timeOfDay(at_ms: number, timeZone: string): string {
  return new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", timeZone }).format(at_ms);
}

/** "Tuesday 2 March" for a day written 2027-03-02. */
export function dayWords(day: string): string {
  const at = Date.parse(`${day}T12:00:00Z`);
  if (Number.isNaN(at)) return day;
  const parts = { weekday: "long", day: "numeric", month: "long", timeZone: "UTC" } as const;
  return new Intl.DateTimeFormat("en-GB", parts).format(at).replace(",", "");
}

/** The day on the unit's clock, YYYY-MM-DD. */
export function dayOf(at_ms: number, timeZone: string): string {
  const parts = { year: "numeric", month: "2-digit", day: "2-digit", timeZone } as const;
  return new Intl.DateTimeFormat("sv-SE", parts).format(at_ms);
}

function two(value: number): string {
  return String(value).padStart(2, "0");
}
