/** Tablet (square) and server (round) joined by the thread: solid where the record stands, cut where it does not. */

/** here: stored on the tablet; both: server has it; cut: server out of reach; lost: the tablet lost its store. */
export type KeepingState = "here" | "both" | "cut" | "lost";

export function KeepingPicture({
  state,
  large = false,
}: {
  readonly state: KeepingState;
  readonly large?: boolean;
}) {
  return (
    <svg class={large ? "keep-large" : ""} viewBox="0 0 100 42" aria-hidden="true">
      {state === "lost" ? null : <rect x="6" y="7" width="28" height="28" rx="6" fill="currentColor" />}
      {threadAndServer(state)}
    </svg>
  );
}

function threadAndServer(state: KeepingState) {
  switch (state) {
    case "here":
      return (
        <>
          <path d="M34 21h16" stroke="currentColor" stroke-width="5" />
          <circle cx="80" cy="21" r="13" fill="none" stroke="currentColor" stroke-width="3" />
        </>
      );
    case "both":
      return (
        <>
          <path d="M34 21h36" stroke="currentColor" stroke-width="5" />
          <circle cx="80" cy="21" r="15" fill="currentColor" />
        </>
      );
    case "cut":
      return (
        <>
          <path d="M34 21h9M47 8l-8 26M59 8l-8 26M55 21h6" stroke="currentColor" stroke-width="4" />
          <circle
            cx="80"
            cy="21"
            r="13"
            fill="none"
            stroke="currentColor"
            stroke-width="3.5"
            stroke-dasharray="6 5"
          />
        </>
      );
    case "lost":
      return (
        <>
          <path
            d="M4 18V9a6 6 0 0 1 6-6h14a6 6 0 0 1 6 6v9M12 24v9a6 6 0 0 0 6 6h14a6 6 0 0 0 6-6v-9"
            fill="none"
            stroke="currentColor"
            stroke-width="5"
          />
          <circle cx="80" cy="21" r="15" fill="currentColor" />
        </>
      );
  }
}
