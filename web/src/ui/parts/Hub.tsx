/** The hub seen end on: the one sign of the app. Its state is always said in words beside it. */

/** asked: ring with lugs; recorded: full with lugs and bore; blank: thin ring; not_done: thin ring, bar through. */
export type HubState = "asked" | "recorded" | "blank" | "not_done";

export function Hub({ state }: { readonly state: HubState }) {
  return (
    <svg class="hub" viewBox="0 0 48 48" aria-hidden="true">
      {shapeOf(state)}
    </svg>
  );
}

function shapeOf(state: HubState) {
  switch (state) {
    case "asked":
      return (
        <>
          <circle cx="24" cy="24" r="14" fill="none" stroke="currentColor" stroke-width="6" />
          <path d="M0 17h8v14H0zM40 17h8v14h-8z" fill="currentColor" />
        </>
      );
    case "recorded":
      return (
        <>
          <circle cx="24" cy="24" r="17" fill="currentColor" />
          <path d="M0 17h10v14H0zM38 17h10v14H38z" fill="currentColor" />
          <circle class="ink-ground" cx="24" cy="24" r="5" />
        </>
      );
    case "blank":
      return <circle cx="24" cy="24" r="12" fill="none" stroke="currentColor" stroke-width="4" />;
    case "not_done":
      return (
        <>
          <circle cx="24" cy="24" r="12" fill="none" stroke="currentColor" stroke-width="4" />
          <path d="M2 24h44" stroke="currentColor" stroke-width="5" />
        </>
      );
  }
}

/** The sign of the product: the hub between two corners of a frame. */
export function ProductMark() {
  return (
    <svg viewBox="0 0 48 48" aria-hidden="true">
      <path d="M6 16V4h12M42 32v12H30" fill="none" stroke="currentColor" stroke-width="5" />
      <circle cx="24" cy="24" r="10" fill="none" stroke="currentColor" stroke-width="6" />
      <path d="M6 20h6v8H6zM36 20h6v8h-6z" fill="currentColor" />
    </svg>
  );
}
