/** What the screens do: each act waits until it is stored, says so in the status region, or keeps the reason in view. */
import { signal } from "@preact/signals";

import { announce } from "./announce.ts";
import { liveText } from "./text/en.ts";

export * from "../flows/index.ts";

/** The last thing that could not be done; null once another was done. */
export const problem = signal<string | null>(null);

/** True when the work was done; `words` are said then, `failed` turns the reason into a sentence. */
export async function act(
  work: Promise<unknown>,
  words: string,
  failed: (why: string) => string = liveText.notStored,
): Promise<boolean> {
  try {
    await work;
    problem.value = null;
    announce(words);
    return true;
  } catch (error) {
    problem.value = failed(error instanceof Error ? error.message : String(error));
    return false;
  }
}
