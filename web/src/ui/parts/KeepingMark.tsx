/** Where the record is, always in view: a mark with its words, and a link to the page that says more. */
import { device, keeping } from "../../state/index.ts";
import { keepingStateOf } from "../model/keeping.ts";
import { to } from "../route.ts";
import { pageText } from "../text/en.ts";
import { KeepingPicture } from "./KeepingPicture.tsx";

/** Whether the server can be reached, and whether the store is whole: read out when it changes, not with every tap. */
export function contactWords(): string {
  const state = keepingStateOf(device.value, keeping.value);
  if (state === "lost") return pageText.keep.lost;
  return state === "cut" ? pageText.keep.cut + pageText.keep.cutRead : pageText.keep.reached;
}

export function KeepingMark() {
  const state = keepingStateOf(device.value, keeping.value);
  const words = state === null ? pageText.keep.none : pageText.keep[state];
  return (
    <a class="keep" href={to.keeping}>
      {state === null ? null : <KeepingPicture state={state} />}
      <span class="words">
        {words}
        {state === "cut" ? <span class="only-read">{pageText.keep.cutRead}</span> : null}
      </span>
    </a>
  );
}
