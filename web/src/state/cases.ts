/** The cases of this tablet as they stand: each one folded and judged anew whenever its entries change. */
import { signal } from "@preact/signals";

import type { CaseFileDocument, CaseMeta } from "../core/caseFold.ts";
import type { Judgement } from "../core/judge/deviation.ts";

/** A case that can be shown has a date, a reference and a time zone. */
export interface ShownMeta extends CaseMeta {
  readonly date: string;
  readonly reference: string;
  readonly time_zone: string;
}

export interface CaseView {
  readonly caseId: string;
  readonly caseFile: CaseFileDocument;
  readonly meta: ShownMeta;
  /** Judged as far as it went: nothing is omitted yet. */
  readonly open: Judgement;
  /** Judged as at sign-off, without the rows of the sign-off itself. */
  readonly closed: Judgement;
  /** True when the server has given a receipt for every entry of the case. */
  readonly receivedAll: boolean;
  /** True when something was entered after the last signature (an answer alone does not count). */
  readonly signedBeforeLater: boolean;
}

/** By case id. A case that was moved stays here as it was, and its `meta.moved_to` names the other one. */
export const cases = signal<ReadonlyMap<string, CaseView>>(new Map());
