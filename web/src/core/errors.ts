/**
 * The one tree of errors, split by what the reader can do about it (the twin of server/core/errors.py).
 *
 * HubheldError
 * ├── RetryLater       nothing is wrong with what was done: try again later, nothing was lost
 * ├── InvalidInput     fix the input: says where, what was found and what was expected
 * ├── OutOfStep        two sides disagree how far a log goes: send again from `n`
 * ├── NotAllowed       this may not be done now: says what is needed
 * └── TamperedRecord   a signature, a chain or a second history does not fit: stop, and keep everything
 */
export class HubheldError extends Error {
  override readonly name: string = "HubheldError";
}

/** It cannot be done now; the same may be tried again. */
export class RetryLater extends HubheldError {
  override readonly name = "RetryLater";
}

/** The input cannot be used. `where` names the place, `found` and `expected` say what to mend. */
export class InvalidInput extends HubheldError {
  override readonly name = "InvalidInput";
  constructor(
    readonly where: string,
    readonly found: string,
    readonly expected: string,
  ) {
    super(`${where}: found ${found}, expected ${expected}`);
  }
}

/** The two logs do not meet; the other side holds `n` entries. */
export class OutOfStep extends HubheldError {
  override readonly name = "OutOfStep";
  constructor(
    message: string,
    readonly n: number,
  ) {
    super(message);
  }
}

/** What is needed for this has not been shown. */
export class NotAllowed extends HubheldError {
  override readonly name = "NotAllowed";
}

/** Bytes that cannot have come from the holder of the key, or a second history under one key. */
export class TamperedRecord extends HubheldError {
  override readonly name = "TamperedRecord";
}
