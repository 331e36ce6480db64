/** The only place that reads this device's clocks. */

/** `wall_ms` may be set by hand or by the network; `mono_ms` only runs on, within one boot (one load of the page). */
export interface ClockReading {
  readonly wall_ms: number;
  readonly mono_ms: number;
  readonly boot: string;
  readonly utc_offset_min: number;
}

export interface Clock {
  read(): ClockReading;
  /** Calls `tick` after `delay_ms`; the function returned calls it off. */
  after(delay_ms: number, tick: () => void): () => void;
}

/** `boot`: a name for this load of the page, under which mono_ms can be compared. */
export function browserClock(boot: string): Clock {
  return {
    read() {
      const now = new Date();
      return {
        wall_ms: now.getTime(),
        mono_ms: Math.floor(performance.now()),
        boot,
        utc_offset_min: -now.getTimezoneOffset(),
      };
    },
    after(delay_ms, tick) {
      const timer = setTimeout(tick, delay_ms);
      return () => clearTimeout(timer);
    },
  };
}
