/**
 * Strict JSON: text in, plain values out, or an InvalidInput that names line and column.
 *
 * Refused: a byte order mark, duplicate keys, NaN and Infinity, fractions and exponents, whole numbers beyond plus or
 * minus (2^53 - 1), lone surrogates, depth over 12. The twin of server/core/strict_json.py.
 */
import { InvalidInput } from "./errors.ts";
import type { Json } from "./json.ts";

export const DEPTH_MAX = 12;

const NUMBER = /-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?/y;
const WHOLE = /^-?(?:0|[1-9][0-9]*)$/;
const [QUOTE, BACKSLASH, FIRST_PRINTED] = [0x22, 0x5c, 0x20];
const [BLANK, TAB, LINE_FEED, CARRIAGE_RETURN] = [0x20, 0x09, 0x0a, 0x0d];
const HEX4 = /[0-9a-fA-F]{4}/y;
const LONE_SURROGATE = /\p{Surrogate}/u;
const DIGITS_SHOWN = 40;
const ESCAPES: ReadonlyMap<string, string> = new Map([
  ['"', '"'],
  ["\\", "\\"],
  ["/", "/"],
  ["b", "\b"],
  ["f", "\f"],
  ["n", "\n"],
  ["r", "\r"],
  ["t", "\t"],
]);
const WORDS: readonly (readonly [string, Json])[] = [
  ["true", true],
  ["false", false],
  ["null", null],
];

/** Returns the value that `text` holds. Raises InvalidInput with the first place that is not strict. */
export function parse(text: string, depthMax: number = DEPTH_MAX): Json {
  return new Scanner(text, depthMax).document();
}

/**
 * What objects are made of: nothing is inherited, so that no name is special. Unlike Object.create(null) it keeps
 * members where the engine finds them fast.
 */
const Bare = function Bare() {} as unknown as new () => { [name: string]: Json };
Bare.prototype = Object.create(null);

/** Reads a text from left to right and raises at the first thing that strict JSON does not allow. */
class Scanner {
  private at = 0;

  constructor(
    private readonly text: string,
    private readonly depthMax: number,
  ) {}

  document(): Json {
    if (this.text.startsWith("\ufeff")) throw this.problem("a byte order mark", "no byte order mark");
    const value = this.value(0);
    this.skipBlank();
    if (this.at < this.text.length) throw this.problem(this.next(), "end of file");
    return value;
  }

  private problem(found: string, expected: string, at: number = this.at): InvalidInput {
    const before = this.text.slice(0, at);
    const line = before.split("\n").length;
    const lineBefore = before.slice(before.lastIndexOf("\n") + 1);
    return new InvalidInput(`line ${line} column ${[...lineBefore].length + 1}`, found, expected);
  }

  private next(): string {
    const point = this.text.codePointAt(this.at);
    return point === undefined ? "end of file" : asciiQuoted(String.fromCodePoint(point));
  }

  private match(pattern: RegExp): string | null {
    pattern.lastIndex = this.at;
    return pattern.exec(this.text)?.[0] ?? null;
  }

  private skipBlank(): void {
    for (;;) {
      const unit = this.text.charCodeAt(this.at);
      if (unit !== BLANK && unit !== LINE_FEED && unit !== CARRIAGE_RETURN && unit !== TAB) return;
      this.at += 1;
    }
  }

  private value(depth: number): Json {
    this.skipBlank();
    const character = this.text[this.at];
    if (character === "{") return this.members(this.enter(depth));
    if (character === "[") return this.items(this.enter(depth));
    if (character === '"') return this.string();
    for (const [word, value] of WORDS) {
      if (this.text.startsWith(word, this.at)) {
        this.at += word.length;
        return value;
      }
    }
    return this.number();
  }

  private enter(depth: number): number {
    if (depth === this.depthMax) throw this.problem(`depth ${depth + 1}`, `depth at most ${this.depthMax}`);
    this.at += 1;
    return depth + 1;
  }

  /** True at the closing mark; else steps over the comma that must part two members. */
  private ends(end: string, first: boolean): boolean {
    this.skipBlank();
    const character = this.text[this.at];
    if (character === end) {
      this.at += 1;
      return true;
    }
    if (first) return false;
    if (character !== ",") throw this.problem(this.next(), `"," or "${end}"`);
    this.at += 1;
    return false;
  }

  private members(depth: number): Json {
    const members: { [name: string]: Json } = new Bare();
    for (let first = true; !this.ends("}", first); first = false) {
      this.skipBlank();
      const start = this.at;
      if (this.text[start] !== '"') throw this.problem(this.next(), "a name in double quotes");
      const name = this.string();
      if (name in members)
        throw this.problem(`the name ${JSON.stringify(name)} twice`, "each name once", start);
      this.skipBlank();
      if (this.text[this.at] !== ":") throw this.problem(this.next(), '":"');
      this.at += 1;
      members[name] = this.value(depth);
    }
    return members;
  }

  private items(depth: number): Json {
    const items: Json[] = [];
    while (!this.ends("]", items.length === 0)) items.push(this.value(depth));
    return items;
  }

  private number(): number {
    const digits = this.match(NUMBER);
    if (digits === null) throw this.problem(this.next(), "a value");
    const whole = Number(digits);
    if (!WHOLE.test(digits) || digits.length > 17 || !Number.isSafeInteger(whole)) {
      const shown = digits.length <= DIGITS_SHOWN ? digits : `${digits.slice(0, DIGITS_SHOWN)}…`;
      throw this.problem(shown, "a whole number within plus or minus 9007199254740991");
    }
    this.at += digits.length;
    return whole === 0 ? 0 : whole; // -0 is 0
  }

  private string(): string {
    const start = this.at;
    this.at += 1;
    let text = "";
    for (;;) {
      text += this.plain();
      const character = this.text[this.at];
      if (character === '"') break;
      if (character !== "\\") throw this.problem(this.next(), "the end of the text");
      text += this.escape();
    }
    this.at += 1;
    if (LONE_SURROGATE.test(text)) throw this.problem("a lone surrogate", "whole characters", start);
    return text;
  }

  /** The characters up to the next quote, escape or control character. */
  private plain(): string {
    const start = this.at;
    for (;;) {
      const unit = this.text.charCodeAt(this.at);
      if (unit === QUOTE || unit === BACKSLASH || unit < FIRST_PRINTED || Number.isNaN(unit)) break;
      this.at += 1;
    }
    return this.text.slice(start, this.at);
  }

  private escape(): string {
    const letter = this.text[this.at + 1] ?? "";
    const simple = ESCAPES.get(letter);
    if (simple !== undefined) {
      this.at += 2;
      return simple;
    }
    HEX4.lastIndex = this.at + 2;
    const hex = HEX4.exec(this.text)?.[0];
    if (letter !== "u" || hex === undefined)
      throw this.problem("an unknown escape", "an escape that JSON knows");
    this.at += 6;
    return String.fromCharCode(Number.parseInt(hex, 16));
  }
}

/** Quoted with everything beyond ASCII escaped. */
function asciiQuoted(text: string): string {
  return JSON.stringify(text).replaceAll(/[\u007f-\uffff]/g, (unit) => {
    return `\\u${unit.charCodeAt(0).toString(16).padStart(4, "0")}`;
  });
}
