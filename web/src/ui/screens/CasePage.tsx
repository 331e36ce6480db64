/** The pages of one case. STOP stands before the live page for as long as its reading is not dealt with. */
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";

import { cases, device, lists, protocol } from "../../state/index.ts";
import { useTitle } from "../parts/focus.ts";
import { LinkSlab } from "../parts/Slab.tsx";
import { Page } from "../parts/Page.tsx";
import { openCase, stepNamed, type OpenCase } from "../model/openCase.ts";
import { pendingStop } from "../model/stops.ts";
import { rowsOf } from "../model/today.ts";
import { to, type Route } from "../route.ts";
import { pageText } from "../text/en.ts";
import { keepAwake, letSleep } from "../wakeLock.ts";
import { Correct, Move, NotDone, NotOperated } from "./CaseCards.tsx";
import { Happened } from "./Happened.tsx";
import { CaseHead, Live, type LiveProps } from "./Live.tsx";
import { Review } from "./Review.tsx";
import { Steps } from "./Steps.tsx";
import { Stop } from "./Stop.tsx";

export type CaseRoute = Extract<Route, { readonly caseId: string }>;

export function CasePage({ route }: { readonly route: CaseRoute }) {
  // The reading that is read again now; after a reload its STOP stands once more.
  const [readAgain, setReadAgain] = useState<string | null>(null);
  const [postponed, setPostponed] = useState<ReadonlySet<string>>(new Set());
  useEffect(() => {
    keepAwake();
    return letSleep;
  }, []);
  const view = cases.value.get(route.caseId);
  useTitle(
    view === undefined ? pageText.unknownCase : `${pageText.casePages[route.page]} ${view.meta.reference}`,
  );
  if (view === undefined) return <NoSuchCase />;
  if (view.meta.moved_to !== null) return <Moved to_={view.meta.moved_to} />;
  const open = openCase(view, protocol.value, orderOf(route.caseId));
  const stop = pendingStop(open);
  const isOfTheStep = route.page === "live" || route.page === "step";
  if (isOfTheStep && stop !== null && stop.entry.id !== readAgain) {
    return <Stop open={open} stop={stop} onReadAgain={() => setReadAgain(stop.entry.id)} />;
  }
  return pageOf(route, open, { postponed, onPostpone: setPostponed });
}

type RoomQuestions = Pick<LiveProps, "postponed" | "onPostpone">;

function pageOf(route: CaseRoute, open: OpenCase, questions: RoomQuestions) {
  switch (route.page) {
    case "live":
      return <Live key="live" open={open} opened={null} {...questions} />;
    case "step":
      return (
        <Live
          key={route.step}
          open={open}
          opened={stepNamed(open.protocol, route.step)?.step ?? null}
          {...questions}
        />
      );
    case "review":
      return <Review open={open} />;
    case "steps":
      return <Over open={open}>{<Steps open={open} />}</Over>;
    case "happened":
      return <Over open={open}>{<Happened open={open} />}</Over>;
    case "not-operated":
      return <Over open={open}>{<NotOperated open={open} />}</Over>;
    case "move":
      return <Over open={open}>{<Move open={open} others={otherCases(open)} />}</Over>;
    case "not-done": {
      const step = stepNamed(open.protocol, route.step);
      return step === null ? <NoSuchCase /> : <Over open={open}>{<NotDone open={open} step={step} />}</Over>;
    }
    case "correct":
      return <Over open={open}>{<Correct open={open} eventId={route.eventId} />}</Over>;
  }
}

/** The frame of a card that lies over a step: the head stays in view. */
function Over({ open, children }: { readonly open: OpenCase; readonly children: ComponentChildren }) {
  return (
    <main id="main" class={open.view.meta.practice ? "over is-practice" : "over"}>
      <CaseHead open={open} />
      {children}
    </main>
  );
}

function orderOf(caseId: string): number | null {
  for (const list of lists.value) {
    const row = rowsOf(device.value.unit ?? "", list, cases.value).find((known) => known.caseId === caseId);
    if (row !== undefined) return row.slot.order;
  }
  return null;
}

/** The other cases of the same day that entries could be of: open ones, and those of the same list. */
function otherCases(open: OpenCase) {
  const { caseId, meta } = open.view;
  return [...cases.value.values()]
    .filter(
      (other) => other.caseId !== caseId && other.meta.date === meta.date && other.meta.moved_to === null,
    )
    .map((other) => ({
      caseId: other.caseId,
      words: `${other.meta.reference}, ${other.caseFile.plan.eye} eye`,
    }));
}

/** All entries of this case belong to another one now. */
function Moved({ to_ }: { readonly to_: string }) {
  return (
    <Page title={pageText.movedCase}>
      <LinkSlab href={to.live(to_)} look="quiet">
        {pageText.movedTo}
      </LinkSlab>
    </Page>
  );
}

function NoSuchCase() {
  return (
    <Page title={pageText.unknownCase}>
      <LinkSlab href={to.today} look="quiet">
        {pageText.pages.today}
      </LinkSlab>
    </Page>
  );
}
