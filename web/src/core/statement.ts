/**
 * The surgeon's statement: what is signed at case end, and what was entered after it.
 * The twin of server/core/statement.py.
 *
 * Free text never enters it: it is made from the fold without the texts, so that a text can be erased later and the
 * statement still says what it said. The digests of the entries bind the texts all the same.
 */
import { read, type CaseEvent } from "./caseFile.ts";
import { fold, type CaseMeta, type FoldEntry, type SignOff } from "./caseFold.ts";
import { NotAllowed } from "./errors.ts";
import { isObject, type JsonObject } from "./json.ts";
import type { Deviation } from "./judge/deviation.ts";
import { judge } from "./judge/judge.ts";
import { voidedIds } from "./logEvents.ts";
import type { Protocol } from "./protocol.ts";

const ANSWERS = ["happened", "reached_eye", "done", "harm", "aftercare", "told", "report"] as const;
const NO_TEXTS: ReadonlyMap<string, string> = new Map();

/** For each deviation's key the surgeon's last answer that was not voided, with the grade it was given for. */
export function answersOf(events: readonly CaseEvent[]): ReadonlyMap<string, JsonObject> {
  const voided = voidedIds(events.map((event) => ({ event, instants: event })));
  const answers = new Map<string, JsonObject>();
  for (const event of events) {
    const { type, deviation, grade } = event;
    if (type !== "answer" || typeof deviation !== "string" || voided.has(event.id)) continue;
    const said = ANSWERS.filter((name) => event[name] !== undefined).map(
      (name) => [name, event[name]] as const,
    );
    answers.set(deviation, { grade: grade ?? null, ...Object.fromEntries(said) });
  }
  return answers;
}

/** The answer that still stands: one given for a lower grade is reopened by the higher one. */
export function answerFor(
  { key, grade }: Deviation,
  answers: ReadonlyMap<string, JsonObject>,
): JsonObject | null {
  const answer = answers.get(key);
  const answered = answer?.["grade"];
  return answer === undefined || typeof answered !== "string" || answered < grade ? null : answer;
}

/** The statement of one case as it stands. Raises NotAllowed where there is no case to sign. */
export function buildStatement(
  unit: string,
  entries: readonly FoldEntry[],
  caseId: string,
  protocol: Protocol,
): JsonObject {
  const { caseFile, meta } = fold(
    entries.map((entry) => ({ ...entry, texts: NO_TEXTS })),
    caseId,
    protocol,
  );
  if (caseFile === null) throw new NotAllowed(`${caseId}: there is no open case of this name to sign`);
  const { deviations } = judge(read(caseFile, protocol), protocol, { withoutSignOff: true });
  const answers = answersOf(caseFile.events);
  const rows = deviations.map(({ step, kind, grade, key, caught, detail }) => {
    const answer = answerFor({ step, kind, grade, key, caught, detail }, answers);
    return { step, kind, grade, key, caught, detail, answer };
  });
  return {
    v: 1,
    type: "sign-off",
    unit,
    case: caseId,
    entries: meta.entries,
    deviations: rows,
    protocol: protocol.protocol,
    unit_values_number: meta.unit_values_number,
  };
}

/** True when the case has an entry that the signature does not name. Answers may come later: they stand for themselves. */
export function isSignedBeforeLater(
  entries: readonly FoldEntry[],
  meta: CaseMeta,
  signOff: SignOff,
): boolean {
  const named = isObject(signOff.statement) ? signOff.statement["entries"] : undefined;
  const signed = new Set<unknown>(Array.isArray(named) ? named : []);
  // An event that came in by two logs has two digests: it was signed if either was named.
  const signedIds = new Set(entries.filter(({ digest }) => signed.has(digest)).map(({ event }) => event.id));
  const held = new Set(meta.entries);
  return entries.some(
    ({ digest, event }) => held.has(digest) && event.type !== "answer" && !signedIds.has(event.id),
  );
}
