/** Every step of the case with its state; any of them can be opened. */
import type { Step } from "../../core/protocol.ts";
import { valueText } from "../format/recordText.ts";
import { Card } from "../parts/Card.tsx";
import { Hub, type HubState } from "../parts/Hub.tsx";
import { LinkSlab } from "../parts/Slab.tsx";
import { courseOf, orderOfAsking, SIGN_OFF, type ItemState } from "../model/course.ts";
import { hasMoment, lastRecord } from "../model/ledger.ts";
import type { OpenCase } from "../model/openCase.ts";
import { to } from "../route.ts";
import { liveText } from "../text/en.ts";

export function Steps({ open }: { readonly open: OpenCase }) {
  const { protocol, ledger, due, view } = open;
  const { items } = courseOf({ protocol, ledger, due, opened: null, postponed: new Set() });
  const shown = items.filter(({ step }) => step.step !== SIGN_OFF);
  const inCourse = new Set(items.map(({ step }) => step.step));
  const notDue = orderOfAsking(protocol).filter((step) => !inCourse.has(step.step) && !step.per_list);
  const phases = [...new Set(shown.map(({ step }) => step.phase))];
  const back = { href: to.live(view.caseId), label: liveText.backToStep };
  return (
    <Card title={liveText.steps.title} hint={liveText.steps.hint} back={back}>
      {phases.map((phase) => (
        <section key={phase} class="phase">
          <h2>{protocol.phases.find((known) => known.phase === phase)?.title ?? phase}</h2>
          <ul class="steps">
            {shown
              .filter(({ step }) => step.phase === phase)
              .map(({ step, state }) => (
                <StepRow key={step.step} open={open} step={step} state={state} />
              ))}
          </ul>
        </section>
      ))}
      <section class="phase">
        <h2>{liveText.steps.notDue}</h2>
        <ul class="steps">
          {notDue.map((step) => (
            <StepRow key={step.step} open={open} step={step} state="not_due" />
          ))}
        </ul>
      </section>
      <OfTheCase open={open} />
    </Card>
  );
}

interface StepRowProps {
  readonly open: OpenCase;
  readonly step: Step;
  readonly state: ItemState | "not_due";
}

function StepRow({ open, step, state }: StepRowProps) {
  const record = lastRecord(open.ledger, step.step);
  const stateWord = liveText.steps.states[record === null ? state : "recorded"];
  const value = record === null ? "" : valueText(step, record.value);
  const words = value === "" ? stateWord : `${value}, ${stateWord}`;
  return (
    <li>
      <a class={`step-row is-${state}`} href={to.step(open.view.caseId, step.step)}>
        <Hub state={hubOf(state)} />
        <span>
          {step.key_word}
          <small>{words}</small>
        </span>
      </a>
    </li>
  );
}

function hubOf(state: ItemState | "not_due"): HubState {
  switch (state) {
    case "recorded":
    case "not_done":
    case "asked":
      return state;
    case "blank":
    case "to_do":
    case "not_due":
      return "blank";
  }
}

function OfTheCase({ open }: { readonly open: OpenCase }) {
  const caseId = open.view.caseId;
  const isIn = hasMoment(open.ledger, "patient_in");
  return (
    <div class="slabs">
      <p class="quiet-text">{`${liveText.steps.room}: ${isIn ? liveText.editor.yes.toLowerCase() : liveText.editor.no.toLowerCase()}`}</p>
      <LinkSlab href={to.review(caseId)} look="quiet">
        {liveText.toReview}
      </LinkSlab>
      <LinkSlab href={to.notOperated(caseId)} look="quiet">
        {liveText.steps.notOperated}
      </LinkSlab>
      <LinkSlab href={to.move(caseId)} look="quiet">
        {liveText.steps.move}
      </LinkSlab>
    </div>
  );
}
