/** One quiet voice for screen readers: what was just stored, sent or stopped, said once in the status region. */
import { effect, signal, untracked } from "@preact/signals";

/** Text of the page's status region. */
export const announcement = signal("");

/** Says in the status region whenever the words of `state` change; called once by the composition root. */
export function announceChanges(state: () => string): void {
  let said: string | null = null;
  effect(() => {
    const now = state();
    if (said !== null && now !== said) announce(now);
    said = now;
  });
}

export function announce(text: string): void {
  // The same words twice would not be read again: a no-break space makes them another text.
  announcement.value = untracked(() => announcement.value) === text ? `${text}\u00a0` : text;
}
