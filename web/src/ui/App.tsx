/** Chooses the page of the address; nothing but the first-run page stands before the tablet is enrolled. */
import { device } from "../state/index.ts";
import { announcement } from "./announce.ts";
import { Hub } from "./parts/Hub.tsx";
import { Page } from "./parts/Page.tsx";
import { route, type Route } from "./route.ts";
import { CasePage } from "./screens/CasePage.tsx";
import { Enrol } from "./screens/Enrol.tsx";
import { Help } from "./screens/Help.tsx";
import { KeepingPage } from "./screens/Keeping.tsx";
import { Brief, Debrief } from "./screens/ListCards.tsx";
import { Lists } from "./screens/Lists.tsx";
import { OffList } from "./screens/OffList.tsx";
import { Office } from "./screens/Office.tsx";
import { Today } from "./screens/Today.tsx";
import { WeekPage } from "./screens/Week.tsx";
import { pageText } from "./text/en.ts";

export function App() {
  return (
    <>
      <a class="skip" href="#main" onClick={skipToMain}>
        {pageText.skip}
      </a>
      <p class="only-read" role="status">
        {announcement.value}
      </p>
      <Shown />
    </>
  );
}

/** The address after "#" names the page, so the link moves the focus itself instead of changing it. */
function skipToMain(event: Event): void {
  event.preventDefault();
  const main = document.getElementById("main");
  main?.setAttribute("tabindex", "-1");
  main?.focus();
}

function Shown() {
  const { phase, unit } = device.value;
  const shown = route.value;
  if (isOfTheOffice(shown)) return officePage(shown);
  if (phase === "opening") return <Opening />;
  if (phase === "not_enrolled" || unit === null) return <Enrol />;
  return recordPage(shown);
}

type OfficeRoute = Extract<
  Route,
  { page: "office" | "lists" | "help" | "week" | "today" | "off-list" | "keeping" | "enrol" | "unknown" }
>;

/** The office and help need no tablet of their own. */
function isOfTheOffice(shown: Route): shown is OfficeRoute {
  return ["office", "lists", "week", "help"].includes(shown.page);
}

function officePage(shown: OfficeRoute) {
  if (shown.page === "week") return <WeekPage week={shown.week} />;
  if (shown.page === "lists") return <Lists />;
  return shown.page === "help" ? <Help /> : <Office />;
}

function recordPage(shown: Route) {
  switch (shown.page) {
    case "today":
      return <Today />;
    case "off-list":
      return <OffList />;
    case "keeping":
      return <KeepingPage />;
    case "enrol":
      return <Enrol />;
    case "brief":
      return <Brief listId={shown.list} />;
    case "debrief":
      return <Debrief listId={shown.list} />;
    case "live":
    case "steps":
    case "happened":
    case "review":
    case "not-operated":
    case "move":
    case "step":
    case "not-done":
    case "correct":
      return <CasePage key={shown.caseId} route={shown} />;
    case "office":
    case "lists":
    case "help":
    case "week":
    case "unknown":
      return (
        <Page title={pageText.unknownPage}>
          <p>{pageText.unknownPage}</p>
        </Page>
      );
  }
}

/** While the store opens and there is no screen of last time: the dotted thread and one line. */
function Opening() {
  return (
    <main id="main" class="opening">
      <p class="row next">
        <Hub state="blank" />
        {pageText.opening}
      </p>
    </main>
  );
}
