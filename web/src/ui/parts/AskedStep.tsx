/** What is asked now: who is asked, the key word, the question, and a picture to scale where there is one. */
import type { ComponentChildren } from "preact";

import type { Step } from "../../core/protocol.ts";
import { liveText, roleWords, wordFor } from "../text/en.ts";
import { Hub } from "./Hub.tsx";
import { useFocusOnce } from "./focus.ts";

export interface AskedProps {
  readonly who: string;
  readonly keyWord: string;
  readonly question: string;
  readonly children?: ComponentChildren;
}

const LONGEST_KEY = 12;

export function Asked({ who, keyWord, question, children }: AskedProps) {
  const heading = useFocusOnce<HTMLHeadingElement>(`${keyWord} ${question}`, false);
  return (
    <section class="row ask" aria-labelledby="asked">
      <Hub state="asked" />
      <p class="who">{who}</p>
      <h1 id="asked" ref={heading} tabIndex={-1} class={keyWord.length > LONGEST_KEY ? "key long" : "key"}>
        {keyWord}
      </h1>
      <p class="question">{question}</p>
      {children}
    </section>
  );
}

/** "Ask scrub and surgeon", from who confirms the step. */
export function whoIsAsked(step: Step): string {
  return liveText.ask(step.confirms.map((role) => wordFor(roleWords, role)));
}

/** The prompt, without its start where that is the key word and at most one word more. */
export function questionOf(step: Step): string {
  const [start = "", ...rest] = step.prompt.split(": ");
  const isKey = start.toLowerCase().startsWith(step.key_word.toLowerCase());
  const more = start.slice(step.key_word.length).trim();
  if (rest.length === 0 || !isKey || more.includes(" ")) return step.prompt;
  const question = rest.join(": ");
  return question.charAt(0).toUpperCase() + question.slice(1);
}

/** The one line of what comes next. */
export function NextLine({ words }: { readonly words: string }) {
  return (
    <p class="row next">
      <Hub state="blank" />
      {liveText.next} <b>{words}</b>
    </p>
  );
}
