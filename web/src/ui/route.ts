/** Which page is shown: read from the address after "#", so that reload, back and offline deep links all work. */
import { signal } from "@preact/signals";

/** One member for each page; `case` pages carry the case id. */
export type Route =
  | { readonly page: "today" | "off-list" | "keeping" | "enrol" | "office" | "lists" | "help" | "unknown" }
  | { readonly page: "week"; readonly week: string }
  | { readonly page: "brief" | "debrief"; readonly list: string }
  | {
      readonly page: "live" | "steps" | "happened" | "review" | "not-operated" | "move";
      readonly caseId: string;
    }
  | { readonly page: "step" | "not-done"; readonly caseId: string; readonly step: string }
  | { readonly page: "correct"; readonly caseId: string; readonly eventId: string };

const SINGLE = ["off-list", "keeping", "enrol", "office", "lists", "help"] as const;
const OF_CASE = ["steps", "happened", "review", "not-operated", "move"] as const;

/** Pure: the page of an address such as "#/case/ID/step/rhexis". */
export function readRoute(hash: string): Route {
  const [first = "", second = "", third = "", fourth = ""] = hash
    .replace(/^#\/?/, "")
    .split("/")
    .map((part) => decodeURIComponent(part));
  if (first === "") return { page: "today" };
  const single = SINGLE.find((page) => page === first);
  if (single && second === "") return { page: single };
  if (first === "office" && second !== "") return { page: "week", week: second };
  if (first === "list" && (third === "brief" || third === "debrief")) return { page: third, list: second };
  return first === "case" && second !== "" ? caseRoute(second, third, fourth) : { page: "unknown" };
}

function caseRoute(caseId: string, page: string, rest: string): Route {
  if (page === "") return { page: "live", caseId };
  const plain = OF_CASE.find((known) => known === page);
  if (plain) return { page: plain, caseId };
  if ((page === "step" || page === "not-done") && rest !== "") return { page, caseId, step: rest };
  if (page === "correct" && rest !== "") return { page, caseId, eventId: rest };
  return { page: "unknown" };
}

/** Addresses of the pages; the only place that writes them. */
export const to = {
  today: "#/",
  offList: "#/off-list",
  keeping: "#/keeping",
  enrol: "#/enrol",
  office: "#/office",
  lists: "#/lists",
  help: "#/help",
  week: (week: string) => `#/office/${week}`,
  brief: (list: string) => `#/list/${list}/brief`,
  debrief: (list: string) => `#/list/${list}/debrief`,
  live: (caseId: string) => `#/case/${caseId}`,
  steps: (caseId: string) => `#/case/${caseId}/steps`,
  happened: (caseId: string) => `#/case/${caseId}/happened`,
  review: (caseId: string) => `#/case/${caseId}/review`,
  notOperated: (caseId: string) => `#/case/${caseId}/not-operated`,
  move: (caseId: string) => `#/case/${caseId}/move`,
  step: (caseId: string, step: string) => `#/case/${caseId}/step/${step}`,
  notDone: (caseId: string, step: string) => `#/case/${caseId}/not-done/${step}`,
  correct: (caseId: string, eventId: string) => `#/case/${caseId}/correct/${eventId}`,
} as const;

export const route = signal<Route>({ page: "today" });

/** Follows the address from now on; called once by the composition root. */
export function followAddress(): void {
  const read = () => {
    route.value = readRoute(location.hash);
  };
  window.addEventListener("hashchange", read);
  read();
}

export function goTo(address: string): void {
  location.hash = address;
}

/** Like goTo, but the page left is not one to come back to (a card that was answered). */
export function replaceWith(address: string): void {
  location.replace(address);
}
