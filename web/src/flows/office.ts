/** The office as the screens use it; it is no part of recording and needs the network. */
export {
  closeOffice,
  downloadAddress,
  importList,
  OfficeProblem,
  officeSession,
  officeWeek,
  officeWeeks,
  openOffice,
} from "../device/officeApi.ts";
export type { CellError, CountRow, ImportedList, OfficeSession, OfficeWeek } from "../device/officeApi.ts";
