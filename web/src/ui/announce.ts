/** One quiet voice for screen readers: what was just stored, sent or stopped, said once in the status region. */
import { signal } from "@preact/signals";

/** Text of the page's status region. */
export const announcement = signal("");

export function announce(text: string): void {
  // The same words twice would not be read again: a no-break space makes them another text.
  announcement.value = announcement.value === text ? `${text}\u00a0` : text;
}
