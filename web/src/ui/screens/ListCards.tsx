/** The two cards of a list: the team brief before it, the debrief after it. */
import { useState } from "preact/hooks";

import { lists, timeZone } from "../../state/index.ts";
import { act, recordOfList, tapNow } from "../acts.ts";
import { timeOfDay } from "../format/times.ts";
import { Page } from "../parts/Page.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { CommonSlab, NotYetSlab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import { goTo, to } from "../route.ts";
import { fieldWords, liveText, pageText } from "../text/en.ts";

const { cards: text } = pageText;

export function Brief({ listId }: { readonly listId: string }) {
  const list = lists.value.find((known) => known.list === listId);
  if (list === undefined) return <NoSuchList title={text.brief} />;
  const at = list.brief_ms;
  const store = async () => {
    if (await act(recordOfList(listId, "team-brief", {}, tapNow()), liveText.recorded(text.brief)))
      goTo(to.today);
  };
  return (
    <Page title={text.brief} sub={text.briefQuestion} look="form">
      <p class="quiet-text">
        {at === null ? text.briefHint : text.recordedAt(timeOfDay(at, timeZone.value))}
      </p>
      <CommonSlab label={at === null ? text.briefGo : text.briefAgain} onPress={() => void store()} />
      <ProblemLine />
    </Page>
  );
}

const PARTS = ["went_well", "change", "equipment"] as const;

export function Debrief({ listId }: { readonly listId: string }) {
  const [words, setWords] = useState<Readonly<Record<string, string>>>({});
  const list = lists.value.find((known) => known.list === listId);
  if (list === undefined) return <NoSuchList title={text.debrief} />;
  const value = Object.fromEntries(Object.entries(words).filter(([, line]) => line.trim() !== ""));
  const store = async () => {
    if (await act(recordOfList(listId, "list-debrief", value, tapNow()), liveText.recorded(text.debrief)))
      goTo(to.today);
  };
  return (
    <Page title={text.debrief} sub={text.debriefHint} look="form">
      {PARTS.map((part) => (
        <TextField
          key={part}
          label={fieldWords[part] ?? part}
          value={words[part] ?? ""}
          kind="long"
          autoCapitalize="sentences"
          onInput={(line) => setWords({ ...words, [part]: line })}
        />
      ))}
      {Object.keys(value).length === 0 ? (
        <NotYetSlab label={text.debriefGo} detail={text.nothingWritten} />
      ) : (
        <CommonSlab label={text.debriefGo} onPress={() => void store()} />
      )}
      <ProblemLine />
    </Page>
  );
}

function NoSuchList({ title }: { readonly title: string }) {
  return (
    <Page title={title}>
      <p>{text.noList}</p>
    </Page>
  );
}
