/** Whether a newer version of the app waits to take over. */
import { signal } from "@preact/signals";

export const update = signal<{ readonly waiting: boolean }>({ waiting: false });
