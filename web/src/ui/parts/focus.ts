/** Moves the focus to a page's heading when the page changes, so that what is read out follows what is seen. */
import { useEffect, useRef } from "preact/hooks";

import { product } from "../text/en.ts";

// The first page after a load is read from its top by itself; only what comes after it takes the focus.
let isFirstPage = true;

/** `fromTop`: another page, shown from its top; a next step of the same page stays where the answers are. */
export function useFocusOnce<T extends HTMLElement>(key: string, fromTop = true) {
  const element = useRef<T>(null);
  useEffect(() => {
    if (!isFirstPage) element.current?.focus({ preventScroll: true });
    if (fromTop) window.scrollTo(0, 0);
    isFirstPage = false;
  }, [key, fromTop]);
  return element;
}

/**
 * What takes the place of the pressed slab takes the focus too, so that the keyboard goes on from there. Only a
 * focus that was lost is taken: a page's heading keeps its own.
 */
export function useFocusKept<T extends HTMLElement>(key: string) {
  const element = useRef<T>(null);
  useEffect(() => {
    if (document.activeElement === document.body) element.current?.focus({ preventScroll: true });
  }, [key]);
  return element;
}

/** Names the page in the browser's own title. */
export function useTitle(title: string): void {
  useEffect(() => {
    document.title = `${title} - ${product}`;
  }, [title]);
}
