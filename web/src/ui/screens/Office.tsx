/** The office: its passphrase, then the weeks. */
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";

import { closeOffice, officeWeeks, openOffice } from "../../flows/office.ts";
import { device } from "../../state/index.ts";
import { act } from "../acts.ts";
import { Page } from "../parts/Page.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { LinkSlab, Slab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import { weekRange } from "../model/week.ts";
import { to } from "../route.ts";
import { officeText as text, pageText } from "../text/en.ts";
import { askOffice, office } from "./officeState.ts";

export function Office() {
  return (
    <OfficePage title={text.title}>
      <Weeks />
    </OfficePage>
  );
}

export interface OfficePageProps {
  readonly title: string;
  readonly sub?: string | undefined;
  readonly children: ComponentChildren;
}

/** Shows its children only while the office is open; else asks for the passphrase. */
export function OfficePage({ title, sub, children }: OfficePageProps) {
  useEffect(() => void askOffice(), []);
  const { kind } = office.value;
  return (
    <Page title={title} sub={sub} look="desk-page">
      {kind === "asking" ? <p>{pageText.opening}</p> : null}
      {kind === "unreachable" ? <p class="caution">{text.offline}</p> : null}
      {kind === "closed" ? <Passphrase /> : null}
      {kind === "open" ? children : null}
      <ProblemLine />
    </Page>
  );
}

function Passphrase() {
  const [unit, setUnit] = useState(device.value.unit ?? "");
  const [passphrase, setPassphrase] = useState("");
  const enter = async () => {
    if (await act(openOffice(unit.trim(), passphrase), text.title, text.wrong)) await askOffice();
    setPassphrase("");
  };
  return (
    <form
      class="passphrase"
      onSubmit={(event) => {
        event.preventDefault();
        void enter();
      }}
    >
      <TextField label={pageText.keeping.unit} value={unit} onInput={setUnit} required />
      <TextField
        label={text.passphrase}
        hint={text.passphraseHint}
        value={passphrase}
        kind="password"
        onInput={setPassphrase}
        required
      />
      <button type="submit" class="slab short">
        {text.enter}
      </button>
    </form>
  );
}

function Weeks() {
  const [weeks, setWeeks] = useState<readonly string[] | null>(null);
  useEffect(() => {
    void officeWeeks().then(setWeeks, () => askOffice());
  }, []);
  const leave = async () => {
    await act(closeOffice(), text.leave);
    await askOffice();
  };
  return (
    <>
      <div class="slabs">
        <LinkSlab href={to.lists} look="short">
          {text.lists}
        </LinkSlab>
        <Slab label={text.leave} look="short quiet" onPress={() => void leave()} />
      </div>
      <h2>{text.weeks}</h2>
      {weeks === null ? <p>{pageText.opening}</p> : null}
      {weeks?.length === 0 ? <p>{text.noWeeks}</p> : null}
      <ul class="weeks">
        {(weeks ?? []).map((week) => {
          const { number, range } = weekRange(week);
          return (
            <li key={week}>
              <LinkSlab href={to.week(week)} look="short">
                {text.week(number)} <small>{range}</small>
              </LinkSlab>
            </li>
          );
        })}
      </ul>
    </>
  );
}
