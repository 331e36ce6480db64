/** A card that lies over a step: a heading, its slabs, and one way back. Escape goes back too. */
import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";

import { goTo } from "../route.ts";
import { useFocusOnce } from "./focus.ts";
import { ProblemLine } from "./ProblemLine.tsx";
import { LinkSlab } from "./Slab.tsx";

export interface CardProps {
  readonly title: string;
  readonly hint?: string | undefined;
  readonly back: { readonly href: string; readonly label: string };
  readonly children: ComponentChildren;
}

export function Card({ title, hint, back, children }: CardProps) {
  const heading = useFocusOnce<HTMLHeadingElement>(title);
  useEscape(back.href);
  return (
    <section class="card" aria-labelledby="card-title">
      <h1 id="card-title" ref={heading} tabIndex={-1}>
        {title}
      </h1>
      {hint === undefined ? null : <p class="card-hint">{hint}</p>}
      {children}
      <ProblemLine />
      <div class="card-back">
        <LinkSlab href={back.href} look="quiet">
          {back.label}
        </LinkSlab>
      </div>
    </section>
  );
}

export function useEscape(address: string): void {
  useEffect(() => {
    const leave = (event: KeyboardEvent) => {
      if (event.key === "Escape") goTo(address);
    };
    window.addEventListener("keydown", leave);
    return () => window.removeEventListener("keydown", leave);
  }, [address]);
}
