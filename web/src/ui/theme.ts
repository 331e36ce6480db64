/** Night or day: night is the default; the choice is kept on this device and set before anything is drawn. */
import { signal } from "@preact/signals";

export type Theme = "night" | "day";

const KEY = "hubheld-theme";

export const theme = signal<Theme>("night");

/** Called first of all, so that no page is ever drawn in the wrong theme. */
export function applyTheme(): void {
  setTheme(stored());
}

export function setTheme(chosen: Theme): void {
  theme.value = chosen;
  document.documentElement.dataset["theme"] = chosen;
  const ground = chosen === "day" ? "#f3ede3" : "#0c0907";
  document.querySelector('meta[name="theme-color"]')?.setAttribute("content", ground);
  try {
    localStorage.setItem(KEY, chosen);
  } catch {
    // A device that keeps no settings shows the night theme at the next start: nothing is lost.
  }
}

function stored(): Theme {
  try {
    return localStorage.getItem(KEY) === "day" ? "day" : "night";
  } catch {
    return "night";
  }
}
