/** Where the record is, in words and numbers; sending by hand; this tablet; the surgeons who can sign on it. */
import { useState } from "preact/hooks";

import { device, keeping, pinKeys, timeZone } from "../../state/index.ts";
import { act, makePinKey, sendNow } from "../acts.ts";
import { timeOfDay } from "../format/times.ts";
import { ChoiceRow } from "../parts/Choice.tsx";
import { KeepingPicture } from "../parts/KeepingPicture.tsx";
import { Page } from "../parts/Page.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { CommonSlab, LinkSlab, NotYetSlab, Slab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import { keepingStateOf } from "../model/keeping.ts";
import { recorder, RECORDERS, setRecorder } from "../recorder.ts";
import { setTheme, theme, type Theme } from "../theme.ts";
import { to } from "../route.ts";
import { pageText } from "../text/en.ts";

const { keeping: text } = pageText;

export function KeepingPage() {
  return (
    <Page title={text.title} look="keeping">
      <Now />
      <Numbers />
      <Tablet />
      <Keys />
      <ProblemLine />
    </Page>
  );
}

function Now() {
  const state = keepingStateOf(device.value, keeping.value) ?? "here";
  const { sending, problem, contact } = keeping.value;
  return (
    <section class={`panel ${state === "lost" ? "heavy" : ""}`} aria-label={text.title}>
      <p class="ends" aria-hidden="true">
        <span>{text.tablet}</span>
        <span>{text.server}</span>
      </p>
      <KeepingPicture state={state} large />
      <h2>{titles[state]}</h2>
      <p>{lineOf(state)}</p>
      {problem === null ? null : (
        <p class="problem">{contact === "cut" ? problem : `${text.problem}: ${problem}`}</p>
      )}
      {state === "lost" || (problem !== null && contact !== "cut") ? (
        <LinkSlab href={to.enrol} look="quiet">
          {text.afresh}
        </LinkSlab>
      ) : null}
      <Slab
        label={sending ? text.sending : contact === "cut" ? text.tryNow : text.sendNow}
        onPress={() => void act(sendNow(), text.sent, () => text.notSent)}
      />
    </section>
  );
}

const titles = { here: text.hereTitle, both: text.bothTitle, cut: text.cutTitle, lost: text.lostTitle };

function lineOf(state: "here" | "both" | "cut" | "lost"): string {
  const { stored, received, lastContactMs, contact } = keeping.value;
  const waiting = Math.max(0, stored - received);
  switch (state) {
    case "both":
      return text.bothLine(
        text.entries(stored),
        lastContactMs === null ? text.never : timeOfDay(lastContactMs, timeZone.value),
      );
    case "here":
      return contact === "never"
        ? text.hereLine(text.entries(stored))
        : text.waitLine(text.entries(waiting), String(stored));
    case "cut":
      return waiting === 0 ? text.cutNone : text.cutLine(text.entries(waiting));
    case "lost": {
      const { held, known } = device.value.lostStored ?? { held: 0, known: 0 };
      return `${text.lostLine(text.entries(held), String(known), String(known - held))} ${text.lostMore}`;
    }
  }
}

function Numbers() {
  const { stored, received, lastContactMs, persisted } = keeping.value;
  const last = lastContactMs === null ? text.never : timeOfDay(lastContactMs, timeZone.value);
  const promised = persisted === null ? text.persistUnknown : persisted ? text.persistYes : text.persistNo;
  const rows = [
    [text.stored, String(stored)],
    [text.received, String(received)],
    [text.waiting, String(Math.max(0, stored - received))],
    [text.lastContact, last],
    [text.persist, promised],
  ] as const;
  return (
    <section class="panel" aria-labelledby="numbers">
      <h2 id="numbers">{text.numbers}</h2>
      <dl>
        {rows.map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}

function Tablet() {
  const themes: readonly { readonly value: Theme; readonly label: string }[] = [
    { value: "night", label: text.night },
    { value: "day", label: text.day },
  ];
  return (
    <section class="panel" aria-labelledby="tablet">
      <h2 id="tablet">{text.tabletTitle}</h2>
      <dl>
        <div>
          <dt>{text.name}</dt>
          <dd>{device.value.name ?? ""}</dd>
        </div>
        <div>
          <dt>{text.unit}</dt>
          <dd>{device.value.unitName ?? device.value.unit ?? ""}</dd>
        </div>
      </dl>
      <ChoiceRow
        question={text.recorder}
        choices={RECORDERS.map((role) => ({ value: role, label: text.recorders[role] }))}
        chosen={[recorder.value]}
        onChoose={setRecorder}
      />
      <ChoiceRow question={text.theme} choices={themes} chosen={[theme.value]} onChoose={setTheme} />
    </section>
  );
}

function Keys() {
  const [code, setCode] = useState("");
  const [pin, setPin] = useState("");
  const isWhole = code.trim() !== "" && pin !== "";
  const make = async () => {
    if (isWhole && (await act(makePinKey(code.trim(), pin), text.keyMade(code.trim()), text.keyNotMade)))
      setCode("");
    setPin("");
  };
  return (
    <section class="panel" aria-labelledby="keys">
      <h2 id="keys">{text.keysTitle}</h2>
      <p>{pinKeys.value.length === 0 ? text.keysNone : pinKeys.value.join(", ")}</p>
      <p class="quiet-text">{text.keysHint}</p>
      <form onSubmit={(event) => event.preventDefault()}>
        <TextField label={text.code} value={code} onInput={setCode} />
        <TextField
          label={text.pin}
          value={pin}
          kind="password"
          onInput={setPin}
          onEnter={() => void make()}
        />
        {isWhole ? (
          <CommonSlab label={text.makeKey} onPress={() => void make()} />
        ) : (
          <NotYetSlab label={text.makeKey} detail={`${text.code}, ${text.pin}`} />
        )}
      </form>
    </section>
  );
}
