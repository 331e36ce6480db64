/** The frame of the pages beside a case: name, heading, where the record is, and the way to the other pages. */
import type { ComponentChildren } from "preact";

import { to } from "../route.ts";
import { pageText, product } from "../text/en.ts";
import { ProductMark } from "./Hub.tsx";
import { useFocusOnce, useTitle } from "./focus.ts";
import { KeepingMark } from "./KeepingMark.tsx";

export interface PageProps {
  readonly title: string;
  readonly sub?: string | undefined;
  readonly look?: string;
  readonly children: ComponentChildren;
}

export function Page({ title, sub, look = "", children }: PageProps) {
  const heading = useFocusOnce<HTMLHeadingElement>(title);
  useTitle(title);
  return (
    <div class={`page ${look}`}>
      <header class="page-head">
        <div>
          <a class="brand" href={to.today}>
            <ProductMark />
            {product}
          </a>
          <h1 ref={heading} tabIndex={-1}>
            {title}
          </h1>
          {sub === undefined ? null : <p class="quiet-text">{sub}</p>}
        </div>
        <KeepingMark />
      </header>
      <main id="main" class="page-main">
        {children}
      </main>
      <PageLinks />
    </div>
  );
}

function PageLinks() {
  const { pages, menu } = pageText;
  const links = [
    [to.today, pages.today],
    [to.keeping, pages.keeping],
    [to.office, pages.office],
    [to.help, pages.help],
  ] as const;
  return (
    <nav class="page-links" aria-label={menu}>
      {links.map(([href, label]) => (
        <a key={href} href={href}>
          {label}
        </a>
      ))}
    </nav>
  );
}
