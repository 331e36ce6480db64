/** Free text leaves an event before it is signed: its digest stays, salt and text go beside the entry. */
import { SALT_BYTES, seal, type SealedText } from "../core/entry.ts";
import type { Crypto } from "../core/crypto.ts";
import { InvalidInput } from "../core/errors.ts";
import { isObject, type Json, type JsonObject } from "../core/json.ts";
import { randomBytes } from "../device/crypto.ts";

const FREE_TEXTS: ReadonlySet<string> = new Set([
  "text",
  "kept_because",
  "done",
  "went_well",
  "change",
  "equipment",
]);
const CHARACTERS_MAX = 10_000;
const UNREADABLE = /\p{Surrogate}/gu;

export interface SealedEvent {
  readonly fields: JsonObject;
  readonly texts: readonly SealedText[];
}

/**
 * Seals the free texts of an event and of its value; members that are undefined or blank texts are left out.
 * Raises InvalidInput for a text that no server would take: an entry that is refused would hold up all behind it.
 */
export async function sealFreeTexts(
  crypto: Crypto,
  fields: Readonly<Record<string, Json | undefined>>,
): Promise<SealedEvent> {
  const sealed: { [name: string]: Json } = {};
  const texts: SealedText[] = [];
  for (const [name, value] of Object.entries(fields)) {
    if (value === undefined) continue;
    if (name === "value" && isObject(value)) {
      const inner = await sealFreeTexts(crypto, value);
      sealed[name] = inner.fields;
      texts.push(...inner.texts);
    } else if (FREE_TEXTS.has(name) && typeof value === "string") {
      const words = readable(value, name);
      if (words.trim() === "") continue;
      const text = await seal(crypto, randomBytes(SALT_BYTES), words);
      sealed[name] = { sha256: text.sha256 };
      texts.push(text);
    } else sealed[readable(name, name)] = readableIn(value, name);
  }
  return { fields: sealed, texts };
}

/** Halves of characters and the character NUL, which no keyboard types, are replaced and left out. */
function readable(text: string, name: string): string {
  if (text.length > CHARACTERS_MAX) {
    throw new InvalidInput(name, `${text.length} characters`, `at most ${CHARACTERS_MAX}`);
  }
  return text.replaceAll(UNREADABLE, "\ufffd").replaceAll("\0", "");
}

function readableIn(value: Json, name: string): Json {
  if (typeof value === "string") return readable(value, name);
  if (Array.isArray(value)) return value.map((child: Json) => readableIn(child, name));
  if (!isObject(value)) return value;
  const members = Object.entries(value).filter(([, child]) => child !== undefined);
  return Object.fromEntries(members.map(([key, child]) => [readable(key, name), readableIn(child, name)]));
}
