/** Today's list: each case in its order, what to mind, how far it is, and the slab of the case in hand. */
import { cases, device, lists, nowMs, timeZone, update } from "../../state/index.ts";
import type { TheatreList } from "../../state/index.ts";
import { act, applyUpdate, openSlot } from "../acts.ts";
import { dioptres } from "../format/quantities.ts";
import { dayOf, dayWords } from "../format/times.ts";
import { EyePlate } from "../parts/EyePlate.tsx";
import { Hub, type HubState } from "../parts/Hub.tsx";
import { Page } from "../parts/Page.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { CommonSlab, LinkSlab, Slab } from "../parts/Slab.tsx";
import { caseState, listToShow, rowInHand, rowsOf, type CaseState, type TodayRow } from "../model/today.ts";
import { goTo, to } from "../route.ts";
import { pageText } from "../text/en.ts";

const { today: text } = pageText;

export function Today() {
  const day = dayOf(nowMs.value, timeZone.value);
  const shown = listToShow(lists.value, day);
  const first = shown[0];
  const title =
    first === undefined ? pageText.pages.today : text.title(shown.map(({ theatre }) => theatre).join(", "));
  const sub = text.sub(device.value.unitName ?? device.value.unit ?? "", dayWords(first?.date ?? day));
  return (
    <Page title={title} sub={sub} look="today">
      {first === undefined ? <NoList /> : null}
      {first !== undefined && first.date !== day ? (
        <p class="caution">{text.otherDay(dayWords(first.date))}</p>
      ) : null}
      {shown.map((list) => (
        <List key={list.list} list={list} isAlone={shown.length === 1} />
      ))}
      <OtherCases shown={shown} />
      <div class="slabs today-slabs">
        <LinkSlab href={to.offList} look="quiet">
          {text.offList}
        </LinkSlab>
        <LinkSlab href={to.lists} look="quiet">
          {text.upload}
        </LinkSlab>
      </div>
      <NewVersion />
      <ProblemLine />
    </Page>
  );
}

function NoList() {
  return (
    <p class="empty">
      <Hub state="blank" />
      <span>
        {text.noList}
        <small>{text.noListHint}</small>
      </span>
    </p>
  );
}

function List({ list, isAlone }: { readonly list: TheatreList; readonly isAlone: boolean }) {
  const rows = rowsOf(device.value.unit ?? "", list, cases.value);
  const inHand = rowInHand(rows);
  return (
    <section class="list-part" aria-label={text.title(list.theatre)}>
      {isAlone ? null : <h2>{text.title(list.theatre)}</h2>}
      <ol class="list">
        {rows.map((row) => (
          <CaseRow key={row.caseId} row={row} list={list} isInHand={row === inHand} />
        ))}
      </ol>
      <div class="slabs today-slabs">
        {inHand === null ? null : <InHand row={inHand} list={list} />}
        <LinkSlab href={to.brief(list.list)} look="quiet">
          {list.brief_ms === null ? text.brief : text.briefDone}
        </LinkSlab>
        <LinkSlab href={to.debrief(list.list)} look="quiet">
          {text.debrief}
        </LinkSlab>
      </div>
    </section>
  );
}

interface RowProps {
  readonly row: TodayRow;
  readonly list: TheatreList;
}

function CaseRow({ row, list, isInHand }: RowProps & { readonly isInHand: boolean }) {
  const { slot, state, flags } = row;
  return (
    <li class={`case is-${state} ${isInHand ? "now" : ""}`}>
      <button type="button" class="case-open" onClick={() => void enter(row, list)}>
        <Hub state={hubOf(state, isInHand)} />
        <b class="order">{slot.order}</b>
        <span class="reference">{slot.reference}</span>
        <EyePlate eye={slot.eye} short />
        <span class="lens">
          <small>{slot.lens.model}</small> <span class="nowrap">{dioptres(slot.lens.power_cdpt)}</span>
        </span>
        <span class="notes">
          <em class={state === "none" ? "only-read" : ""}>{text.states[state]}</em>
          {flags.map((flag) => (
            <b key={flag}>{flag}</b>
          ))}
        </span>
      </button>
    </li>
  );
}

function hubOf(state: CaseState, isInHand: boolean): HubState {
  if (isInHand) return "asked";
  switch (state) {
    case "signed":
    case "signed_before":
    case "to_sign":
      return "recorded";
    case "not_operated":
    case "moved":
      return "not_done";
    case "none":
    case "next":
    case "open":
      return "blank";
  }
}

function InHand({ row, list }: RowProps) {
  const { slot, state } = row;
  const label =
    state === "to_sign"
      ? text.review(slot.order)
      : state === "open"
        ? text.goOn(slot.order)
        : text.open(slot.order);
  const detail = `${slot.reference}, ${slot.eye} eye, ${dioptres(slot.lens.power_cdpt)}`;
  return <CommonSlab label={label} detail={detail} onPress={() => void enter(row, list)} />;
}

/** Opens the case where it is not open yet, and goes to where it stands. */
async function enter({ caseId, state, slot }: TodayRow, list: TheatreList): Promise<void> {
  if (state === "none" || state === "next") {
    if (!(await act(openSlot(list, slot), text.openRead(slot.order, slot.eye)))) return;
  }
  goTo(
    state === "to_sign" || state === "signed" || state === "signed_before"
      ? to.review(caseId)
      : to.live(caseId),
  );
}

/** Cases of this tablet that stand on none of the lists shown: by hand, of another day, or moved. */
function OtherCases({ shown }: { readonly shown: readonly TheatreList[] }) {
  const onList = new Set(
    shown.flatMap((list) => rowsOf(device.value.unit ?? "", list, cases.value).map(({ caseId }) => caseId)),
  );
  const others = [...cases.value.values()].filter(
    ({ caseId, meta }) => !onList.has(caseId) && meta.moved_to === null,
  );
  const open = others.filter((view) => caseState(view) !== "signed" && caseState(view) !== "not_operated");
  if (open.length === 0) return null;
  return (
    <section class="list-part" aria-label={text.otherCases}>
      <h2>{text.otherCases}</h2>
      <div class="slabs">
        {open.map((view) => {
          const isToSign = caseState(view) === "to_sign" || caseState(view) === "signed_before";
          const label = isToSign
            ? text.unsignedOf(view.meta.reference)
            : text.goOnReference(view.meta.reference);
          return (
            <LinkSlab key={view.caseId} href={isToSign ? to.review(view.caseId) : to.live(view.caseId)}>
              {label}
              <small>{`${view.caseFile.plan.eye} eye, ${dayWords(view.meta.date)}`}</small>
            </LinkSlab>
          );
        })}
      </div>
    </section>
  );
}

/** A new version never starts by itself; it is offered here, where no case is on the screen. */
function NewVersion() {
  if (!update.value.waiting) return null;
  const isAnyOpen = [...cases.value.values()].some((view) => caseState(view) === "open");
  return isAnyOpen ? (
    <p class="caution">{text.newVersionWaits}</p>
  ) : (
    <Slab
      label={text.update}
      detail={text.newVersion}
      look="quiet"
      onPress={() => void act(applyUpdate(), text.update)}
    />
  );
}
