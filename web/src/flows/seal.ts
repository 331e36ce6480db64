/** Free text leaves an event before it is signed: its digest stays, salt and text go beside the entry. */
import { SALT_BYTES, seal, type SealedText } from "../core/entry.ts";
import type { Crypto } from "../core/crypto.ts";
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

export interface SealedEvent {
  readonly fields: JsonObject;
  readonly texts: readonly SealedText[];
}

/**
 * Seals the free texts of an event and of its value; members that are undefined or empty texts are left out.
 * The character NUL goes: no keyboard types it, and not every database takes it.
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
      if (value.trim() === "") continue;
      const text = await seal(crypto, randomBytes(SALT_BYTES), value.replaceAll("\0", ""));
      sealed[name] = { sha256: text.sha256 };
      texts.push(text);
    } else sealed[name] = value;
  }
  return { fields: sealed, texts };
}
