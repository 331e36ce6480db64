/** Opens the record of this tablet when the page starts, and keeps it and the server in touch while it is open. */
import { InvalidInput } from "../core/errors.ts";
import type { Enrolment } from "../device/rows.ts";
import { browserTablet, type Tablet } from "../device/tablet.ts";
import { device, keeping, nowMs, type DeviceState } from "../state/index.ts";
import { carryOver, enrolTablet } from "./enrol.ts";
import { showPinKeys } from "./pinKey.ts";
import { Session, session, sessionOrNull, setSession } from "./session.ts";
import { Sync } from "./sync.ts";
import { followUpdates } from "./update.ts";
import { pullWork, showWork } from "./work.ts";

const TICK_MS = 1_000;
const TOUCH_EVERY_MS = 60_000;
const TRY_AGAIN_MS = 3_000;

let tablet: Tablet | null = null;
let sync: Sync | null = null;
let pulled_ms = 0;
let storeTrouble: string | null = null;

/** Starts on the browser's own tablet, or on one that a test put together. */
export async function start(given: Tablet | null = null): Promise<void> {
  const own = given ?? browserTablet(say);
  tablet = own;
  tick(own);
  followPage(own);
  void askToPersist(own);
  void followUpdates(own).catch(() => undefined); // without a worker the app needs the network to start, no more
  await open(own);
}

/** Enrols this tablet, or enrols it afresh: then what the server lacks is carried over from the log before. */
export async function enrol(code: string, name: string): Promise<void> {
  const own = needTablet();
  await work(own, await enrolTablet(own, code, name));
}

/** Sends what is stored and fetches lists, settings and people; resolves when the server has a receipt for all of it. */
export async function sendNow(): Promise<void> {
  session();
  pulled_ms = 0;
  await sync?.sendNow();
}

async function open(own: Tablet): Promise<void> {
  try {
    const enrolment = await own.keys.enrolment();
    if (enrolment !== null) await work(own, enrolment);
    else showUnknown(own);
    say(null);
  } catch (problem) {
    // Nothing is deleted and nothing is made anew over a store that does not open: it is said, and tried again.
    say(problem instanceof Error ? problem.message : String(problem));
    own.clock.after(TRY_AGAIN_MS, () => void open(own));
  }
}

async function work(own: Tablet, enrolment: Enrolment): Promise<void> {
  sync?.stop();
  const opened = new Session(own, enrolment);
  await opened.open();
  await showLast(opened);
  await showPinKeys(opened);
  setSession(opened);
  sync = new Sync(opened, () => pull(opened));
  device.value = { ...device.value, ...stateOf(own, enrolment, keeping.value.stored) };
  await carryOver(opened);
  pulled_ms = 0;
  sync.wake();
}

/** What was pulled last, if it can still be read; else the tablet works with what came with the app until it pulls. */
async function showLast(opened: Session): Promise<void> {
  const last = await opened.tablet.work.work();
  try {
    if (last !== null) showWork(opened, last);
  } catch (problem) {
    if (!(problem instanceof InvalidInput)) throw problem;
  }
}

function stateOf(own: Tablet, { unit, name, device: id }: Enrolment, held: number): Partial<DeviceState> {
  const mark = own.highWater.read();
  const known = mark?.device === id ? mark.stored : 0;
  const isLost = held < known;
  if (!isLost) own.highWater.raise({ device: id, stored: held });
  return { phase: isLost ? "lost_store" : "ready", unit, name, lostStored: isLost ? { held, known } : null };
}

/** No enrolment: a new tablet, or one whose whole store was cleared. */
function showUnknown(own: Tablet): void {
  const mark = own.highWater.read();
  const lostStored = mark !== null && mark.stored > 0 ? { held: 0, known: mark.stored } : null;
  const phase = lostStored === null ? "not_enrolled" : "lost_store";
  setSession(null);
  device.value = { phase, unit: null, unitName: null, name: null, lostStored };
}

/** Never waited for: some browsers do not answer. One that cannot say leaves it unknown. */
async function askToPersist({ page }: Tablet): Promise<void> {
  const persisted = await page.askToPersist().catch(() => null);
  keeping.value = { ...keeping.value, persisted };
}

function followPage(own: Tablet): void {
  const { page } = own;
  const wake = () => {
    void sessionOrNull()
      ?.follow()
      .catch(() => undefined); // the next tap or wake reads it again
    sync?.wake();
  };
  page.onWake(wake);
  page.onNetworkLost(() => sync?.networkLost());
  page.onAside(() => own.closeStore());
  page.onOtherWindow(
    () =>
      void sessionOrNull()
        ?.follow()
        .catch(() => undefined),
  );
}

function pull(opened: Session): void {
  const now_ms = opened.tablet.clock.read().mono_ms;
  if (pulled_ms !== 0 && now_ms - pulled_ms < TOUCH_EVERY_MS) return;
  pulled_ms = now_ms;
  void pullWork(opened).catch(() => {
    pulled_ms = 0; // what was pulled last stays in force; the next contact asks again
  });
}

function tick(own: Tablet): void {
  const { wall_ms, mono_ms } = own.clock.read();
  nowMs.value = sessionOrNull()?.now_ms() ?? wall_ms;
  if (Math.floor(mono_ms / TOUCH_EVERY_MS) !== Math.floor((mono_ms - TICK_MS) / TOUCH_EVERY_MS))
    sync?.touch();
  own.clock.after(TICK_MS, () => tick(own));
}

/** What stands in the way of the store; what the server said is not taken back with it. */
function say(trouble: string | null): void {
  if (trouble !== null || keeping.value.problem === storeTrouble) {
    keeping.value = { ...keeping.value, problem: trouble };
  }
  storeTrouble = trouble;
}

function needTablet(): Tablet {
  if (tablet === null) throw new Error("enrol before start");
  return tablet;
}
