/** The text of a file that must be UTF-8. */
import { InvalidInput } from "../core/errors.ts";

/** Strict UTF-8; a byte order mark stays in the text. Raises InvalidInput naming the first byte that is not UTF-8. */
export function fileText(bytes: Buffer): string {
  try {
    return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new InvalidInput(`byte ${firstBadByte(bytes)}`, "bytes that are not UTF-8", "UTF-8");
  }
}

/** Where the longest prefix that is whole UTF-8 ends. */
function firstBadByte(bytes: Buffer): number {
  const whole = bytes.toString("utf-8");
  let at = 0;
  for (const character of whole) {
    const size = Buffer.byteLength(character);
    if (character === "\ufffd" && !bytes.subarray(at, at + size).equals(Buffer.from("\ufffd"))) return at;
    at += size;
  }
  return at;
}
