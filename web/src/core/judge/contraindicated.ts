/** Kind `contraindicated`: a drug barred by an allergy, a dye barred by the planned lens, iodine with iodine allergy. */
import type { Record } from "../caseFile.ts";
import type { ContraindicatedRule, Place } from "../protocol.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function contraindicated(facts: Facts): readonly Deviation[] {
  return [...facts.byStep].flatMap(([code, records]) => {
    const rule = records[0]?.step.contraindicated;
    if (rule === undefined) return [];
    return deviation(
      code,
      "contraindicated",
      records.flatMap((record) => earnedBy(record, rule, facts)),
    );
  });
}

function earnedBy(record: Record, rule: ContraindicatedRule, facts: Facts): readonly Earned[] {
  const found = record.get(rule.field);
  if (typeof found !== "string") return [];
  switch (rule.rule) {
    case "antiseptic":
      return antiseptic(found, facts);
    case "dye":
      if (!facts.isDyeBarred(found)) return [];
      return [placed(record, rule.place, facts, `${found} with a dry-state hydrophilic lens`)];
    case "drug":
      return [
        ...barredDrug(found, record, rule.place, facts),
        ...notAccepted(found, record, rule.accepted_at, facts),
      ];
  }
}

function placed(record: Record, place: Place, facts: Facts, detail: string): Earned {
  const isInEye = place === "in_eye" && record.inEye;
  const { in_eye, not_in_eye } = facts.protocol.grades.contraindicated;
  return earned(isInEye ? in_eye : not_in_eye, !isInEye, detail);
}

function barredDrug(drug: string, record: Record, place: Place, facts: Facts): readonly Earned[] {
  const barredBy = [...(facts.unit.drugs.get(drug)?.barredBy ?? [])].filter((allergy) =>
    facts.allergies.has(allergy),
  );
  if (barredBy.length === 0) return [];
  return [placed(record, place, facts, `${drug} with ${barredBy.toSorted().join(", ")}`)];
}

function notAccepted(
  drug: string,
  record: Record,
  acceptedAt: string | undefined,
  facts: Facts,
): readonly Earned[] {
  const spoken = facts.protocol.fixed.accept_aloud;
  const mustBeAccepted =
    acceptedAt !== undefined && record.inEye && drug === spoken.drug && facts.allergies.has(spoken.allergy);
  if (!mustBeAccepted) return [];
  const isAccepted = facts
    .records(acceptedAt)
    .some((check) => check.get("drug") === drug && check.get("allergy_accepted") === true);
  if (isAccepted) return [];
  const detail = `${drug} with ${spoken.allergy}, not accepted aloud`;
  return [earned(facts.protocol.grades.contraindicated.not_accepted, false, detail)];
}

function antiseptic(agent: string, facts: Facts): readonly Earned[] {
  const { usual_antiseptic, antiseptic_barred_by } = facts.protocol.fixed;
  if (agent !== usual_antiseptic || !facts.allergies.has(antiseptic_barred_by)) return [];
  return [
    earned(facts.protocol.grades.contraindicated.in_eye, false, `${agent} with ${antiseptic_barred_by}`),
  ];
}
