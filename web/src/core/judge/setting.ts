/** Kind `wrong_setting`: the machine in a mode that is not allowed at the step. */
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function wrongSetting(facts: Facts): readonly Deviation[] {
  const grades = facts.protocol.grades.wrong_setting;
  return [...facts.byStep].flatMap(([code, records]) => {
    const allowed = records[0]?.step.settings?.allowed;
    if (allowed === undefined) return [];
    const isAllowed = (mode: unknown): boolean => typeof mode === "string" && allowed.includes(mode);
    const parts = records.flatMap((record, at): readonly Earned[] => {
      const mode = record.get("mode");
      if (typeof mode !== "string" || isAllowed(mode)) return [];
      const isNoticed = record.get("noticed") === "before_entry";
      const isCorrected = isNoticed && records.slice(at + 1).some((later) => isAllowed(later.get("mode")));
      const grade = isCorrected ? grades.noticed_and_corrected : grades.other;
      return [earned(grade, isNoticed, isNoticed ? `${mode}, noticed before entry` : mode)];
    });
    return deviation(code, "wrong_setting", parts);
  });
}
