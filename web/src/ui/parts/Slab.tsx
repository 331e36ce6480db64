/** The slab: everything that can be pressed, as a button or as a link to another page of the app. */
import type { ComponentChildren } from "preact";

import { Hub } from "./Hub.tsx";

export interface SlabProps {
  readonly label: string;
  readonly detail?: string | undefined;
  /** What a screen reader says when the words on the slab need their place to be understood. */
  readonly read?: string | undefined;
  readonly look?: string;
  readonly strung?: boolean;
  readonly onPress: () => void;
}

/** A slab that acts. `strung` puts the asked hub on it, for the common answer on the thread. */
export function Slab({ label, detail, read, look = "", strung = false, onPress }: SlabProps) {
  return (
    <button type="button" class={`slab ${look}`} aria-label={read} onClick={onPress}>
      {strung ? <Hub state="asked" /> : null}
      <span>
        {label}
        {detail === undefined ? null : <small>{detail}</small>}
      </span>
    </button>
  );
}

/** The common answer: full width, with its hub on the thread. */
export function CommonSlab(props: Omit<SlabProps, "look" | "strung">) {
  return <Slab {...props} look="go" strung />;
}

export interface NotYetSlabProps {
  readonly label: string;
  readonly detail?: string | undefined;
  /** False for a slab that is one of several answers. */
  readonly isCommon?: boolean;
}

/** A slab whose time has not come: dashed, and its words say what is missing. It stays in the order of Tab. */
export function NotYetSlab({ label, detail, isCommon = true }: NotYetSlabProps) {
  return (
    <button type="button" class={isCommon ? "slab go not-yet" : "slab not-yet"} aria-disabled="true">
      {isCommon ? <Hub state="blank" /> : null}
      <span>
        {label}
        {detail === undefined ? null : <small>{detail}</small>}
      </span>
    </button>
  );
}

export interface LinkSlabProps {
  readonly href: string;
  readonly look?: string;
  readonly strung?: boolean;
  readonly children: ComponentChildren;
}

export function LinkSlab({ href, look = "", strung = false, children }: LinkSlabProps) {
  return (
    <a class={`slab ${look}`} href={href}>
      {strung ? <Hub state="asked" /> : null}
      <span>{children}</span>
    </a>
  );
}
