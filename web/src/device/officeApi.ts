/** The office's own calls: its session, the weeks, and theatre lists. They need the network; recording does not. */

/** What the server said instead of what was asked; `errors` names every bad cell of a list. */
export class OfficeProblem extends Error {
  readonly isUnreachable: boolean;
  readonly isClosed: boolean;
  readonly errors: readonly CellError[];

  constructor(message: string, kind: "unreachable" | "closed" | "other", errors: readonly CellError[] = []) {
    super(message);
    this.isUnreachable = kind === "unreachable";
    this.isClosed = kind === "closed";
    this.errors = errors;
  }
}

export interface CellError {
  readonly line: number;
  readonly column: string;
  readonly found: string;
  readonly expected: string;
}

export interface CountRow {
  readonly step: string;
  readonly kind: string;
  readonly grade: string;
  readonly events: number;
  readonly cases_with: number;
  readonly chances: number;
  readonly caught: number;
  readonly rate_per_100: string | null;
  readonly ci95_low: string | null;
  readonly ci95_high: string | null;
}

export interface OfficeWeek {
  readonly unit: string;
  readonly week: string;
  readonly protocol: string;
  readonly cautions: readonly string[];
  readonly quality: Readonly<Record<string, number | string | null>>;
  readonly rows: readonly CountRow[];
}

export interface ImportedList {
  readonly list: string;
  readonly date: string;
  readonly theatre: string;
  readonly added: number;
  readonly changed: number;
  readonly withdrawn: number;
}

export interface OfficeSession {
  readonly unit: string;
  readonly name: string;
}

const OFFICE = "/api/v1/office";

export function officeSession(): Promise<OfficeSession> {
  return ask<OfficeSession>("GET", "/session");
}

export function openOffice(unit: string, passphrase: string): Promise<OfficeSession> {
  return ask<OfficeSession>("POST", "/session", {
    type: "application/json",
    body: JSON.stringify({ unit, passphrase }),
  });
}

export async function closeOffice(): Promise<void> {
  await ask<unknown>("DELETE", "/session");
}

/** The weeks that have cases, the latest first. */
export async function officeWeeks(): Promise<readonly string[]> {
  return (await ask<{ readonly weeks: readonly string[] }>("GET", "/weeks")).weeks;
}

export function officeWeek(week: string): Promise<OfficeWeek> {
  return ask<OfficeWeek>("GET", `/weeks/${encodeURIComponent(week)}`);
}

/** The address of the week's zip; the browser saves it under the name that the server gives. */
export function downloadAddress(week: string): string {
  return `${OFFICE}/weeks/${encodeURIComponent(week)}/download`;
}

/** Sends the bytes of the file as they are. Throws OfficeProblem with every bad cell when the list is refused. */
export async function importList(file: Blob): Promise<readonly ImportedList[]> {
  const body = new Blob([file], { type: "text/csv" });
  return (
    await ask<{ readonly lists: readonly ImportedList[] }>("POST", "/lists", { type: "text/csv", body })
  ).lists;
}

interface Sent {
  readonly type: string;
  readonly body: string | Blob;
}

async function ask<T>(method: string, path: string, sent?: Sent): Promise<T> {
  const headers = { "X-Hubheld": "1", ...(sent === undefined ? {} : { "Content-Type": sent.type }) };
  let response: Response;
  try {
    response = await fetch(OFFICE + path, {
      method,
      headers,
      ...(sent === undefined ? {} : { body: sent.body }),
    });
  } catch {
    throw new OfficeProblem("The server did not answer.", "unreachable");
  }
  if (!response.ok) throw await problemOf(response);
  return (response.status === 204 ? undefined : await response.json()) as T;
}

const CLOSED = new Set([401, 403]);

async function problemOf(response: Response): Promise<OfficeProblem> {
  const kind = CLOSED.has(response.status) ? "closed" : "other";
  try {
    const { detail, title, errors } = (await response.json()) as {
      detail?: string;
      title?: string;
      errors?: unknown;
    };
    const cells = Array.isArray(errors) ? (errors as readonly CellError[]) : [];
    return new OfficeProblem(detail ?? title ?? `The server answered ${response.status}.`, kind, cells);
  } catch {
    return new OfficeProblem(`The server answered ${response.status}.`, kind);
  }
}
