/** Brings a theatre list in from a CSV file; when it is refused, every bad cell is named and nothing is kept. */
import { useState } from "preact/hooks";

import { importList, OfficeProblem, type CellError } from "../../flows/office.ts";
import { sendNow } from "../acts.ts";
import { announce } from "../announce.ts";
import { LinkSlab } from "../parts/Slab.tsx";
import { to } from "../route.ts";
import { officeText as text, pageText, shownText } from "../text/en.ts";
import { OfficePage } from "./Office.tsx";

type Outcome =
  | { readonly kind: "in"; readonly words: string }
  | { readonly kind: "refused"; readonly words: string; readonly errors: readonly CellError[] };

export function Lists() {
  return (
    <OfficePage title={text.lists} sub={text.listsHint}>
      <ListForm />
      <LinkSlab href={to.today} look="short quiet">
        {pageText.pages.today}
      </LinkSlab>
    </OfficePage>
  );
}

function ListForm() {
  const [file, setFile] = useState<File | null>(null);
  const [outcome, setOutcome] = useState<Outcome | null>(null);
  const bring = async () => {
    const result = file === null ? refused(text.noFile, []) : await sendFile(file);
    setOutcome(result);
    announce(result.words);
  };
  return (
    <form
      class="list-form"
      onSubmit={(event) => {
        event.preventDefault();
        void bring();
      }}
    >
      <div class="field">
        <label for="list-file">{text.file}</label>
        <input
          id="list-file"
          type="file"
          accept=".csv,text/csv"
          onChange={(event) => setFile(event.currentTarget.files?.[0] ?? null)}
        />
      </div>
      <button type="submit" class="slab short">
        {text.bringIn}
      </button>
      {outcome === null ? null : <p class={outcome.kind === "in" ? "signed" : "problem"}>{outcome.words}</p>}
      {outcome?.kind === "refused" && outcome.errors.length > 0 ? (
        <CellErrors errors={outcome.errors} />
      ) : null}
    </form>
  );
}

async function sendFile(file: File): Promise<Outcome> {
  try {
    const lists = await importList(file);
    // The tablet that brought the list in shows it at once; the others get it with their next sending.
    void sendNow().catch(() => undefined);
    const words = lists.map(({ list, added, changed, withdrawn }) =>
      shownText.listDone(list, added, changed, withdrawn),
    );
    return { kind: "in", words: text.broughtIn(words.join("; ")) };
  } catch (error) {
    const errors = error instanceof OfficeProblem ? error.errors : [];
    const why = error instanceof Error ? error.message : String(error);
    return refused(
      errors.length > 0 ? `${text.notIn} ${text.errors(errors.length)}.` : `${text.notIn} ${why}`,
      errors,
    );
  }
}

function refused(words: string, errors: readonly CellError[]): Outcome {
  return { kind: "refused", words, errors };
}

function CellErrors({ errors }: { readonly errors: readonly CellError[] }) {
  return (
    <div class="table-scroll" role="region" aria-label={text.errors(errors.length)} tabIndex={0}>
      <table>
        <thead>
          <tr>
            {Object.values(text.errorTable).map((name) => (
              <th key={name} scope="col">
                {name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {errors.map((error, index) => (
            <tr key={index}>
              <td>{error.line}</td>
              <td>{error.column}</td>
              <td>{error.found}</td>
              <td>{error.expected}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
