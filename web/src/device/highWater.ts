/**
 * The number of entries ever stored, kept outside IndexedDB and compared at every start: a browser may drop a damaged
 * database without a word, and an empty list would look like a quiet day.
 */

export interface Mark {
  readonly device: string;
  readonly stored: number;
}

export interface HighWater {
  read(): Mark | null;
  /** Only ever grows for one device. */
  raise(mark: Mark): void;
  /** Begins anew for a newly enrolled device. */
  replace(mark: Mark): void;
}

const KEY = "hubheld-stored";

/** Kept in localStorage. A mark that cannot be written is left as it was: recording never waits for it. */
export function browserHighWater(storage: Pick<Storage, "getItem" | "setItem">): HighWater {
  const read = (): Mark | null => {
    try {
      return markOf(storage.getItem(KEY));
    } catch {
      return null;
    }
  };
  const write = ({ device, stored }: Mark) => {
    try {
      storage.setItem(KEY, `${stored} ${device}`);
    } catch {
      // Full, or switched off: the mark is a warning sign beside the log, not part of it.
    }
  };
  return {
    read,
    raise(mark) {
      const held = read();
      if (held?.device !== mark.device || held.stored < mark.stored) write(mark);
    },
    replace: write,
  };
}

function markOf(text: string | null): Mark | null {
  const [, stored, device] = /^(\d{1,15}) ([A-Za-z0-9_-]{43})$/.exec(text ?? "") ?? [];
  return stored === undefined || device === undefined ? null : { device, stored: Number(stored) };
}
