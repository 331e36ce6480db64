/** Kind `substitution`: a drug, dye, antiseptic or lens other than the planned one reached the eye. */
import type { Lens, Record } from "../caseFile.ts";
import type { Grades, SubstitutionRule } from "../protocol.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import { isSameLens, lensOf, type Facts } from "./facts.ts";
import { lensText } from "./readback.ts";

export function substitution(facts: Facts): readonly Deviation[] {
  return [...facts.byStep].flatMap(([code, records]) => {
    const rule = records[0]?.step.substitution;
    if (rule === undefined) return [];
    return deviation(
      code,
      "substitution",
      records.flatMap((record) => earnedBy(record, rule, facts)),
    );
  });
}

function earnedBy(record: Record, rule: SubstitutionRule, facts: Facts): readonly Earned[] {
  if (rule.rule === "lens") return lens(record, rule.site, facts);
  const given = record.get(rule.field);
  if (typeof given !== "string") return [];
  switch (rule.rule) {
    case "antiseptic":
      return antiseptic(given, facts);
    case "dye":
      return record.inEye ? dye(given, facts) : [];
    case "drug":
      return record.inEye ? drug(given, facts) : [];
  }
}

function graded(
  facts: Facts,
  name: keyof Grades["substitution"],
  given: string,
  planned: string,
): readonly Earned[] {
  return [earned(facts.protocol.grades.substitution[name], false, `${given} in place of ${planned}`)];
}

function drug(given: string, facts: Facts): readonly Earned[] {
  const planned = facts.plan.drug;
  if (given === planned) return [];
  if (!facts.unit.drugs.has(given)) return graded(facts, "drug_not_listed", given, planned);
  return graded(facts, facts.isDrugBarred(planned) ? "drug_by_allergy" : "drug_listed", given, planned);
}

function dye(given: string, facts: Facts): readonly Earned[] {
  const planned = facts.unit.dye;
  if (given === planned) return [];
  return graded(facts, facts.unit.dyes.has(given) ? "dye_listed" : "dye_not_listed", given, planned);
}

function antiseptic(given: string, facts: Facts): readonly Earned[] {
  const { usual_antiseptic, antiseptic_barred_by } = facts.protocol.fixed;
  if (given === usual_antiseptic) return [];
  const byAllergy = facts.allergies.has(antiseptic_barred_by);
  return graded(facts, byAllergy ? "antiseptic_by_allergy" : "antiseptic_other", given, usual_antiseptic);
}

/** With a new plan in force that one counts; without, the plan and the plan last read aloud before. */
function lens(record: Record, site: string, facts: Facts): readonly Earned[] {
  const placed = lensOf(record.value);
  const planned = facts.plan.lens;
  if (placed === null || record.get(site) === "none") return [];
  const newPlan = facts.inForce("new-lens-plan", record.at_ms);
  if (newPlan !== undefined) return byNewPlan(placed, lensOf(newPlan.value), planned, facts);
  const spoken = facts.inForce("lens-plan", record.at_ms);
  const read = spoken === undefined ? null : lensOf(spoken.value);
  const others = [planned, ...(read === null ? [] : [read])].filter((other) => !isSameLens(other, placed));
  if (others.length === 0) return [];
  const fromOne = read !== null && others.length === 1;
  const words = [...new Set(others.map(lensText))].join(" and ");
  return graded(facts, fromOne ? "lens_from_one_plan" : "lens_from_both_plans", lensText(placed), words);
}

function byNewPlan(placed: Lens, newPlan: Lens | null, planned: Lens, facts: Facts): readonly Earned[] {
  if (newPlan === null) return [];
  if (!isSameLens(placed, newPlan))
    return graded(facts, "lens_from_new_plan", lensText(placed), lensText(newPlan));
  if (isSameLens(placed, planned)) return [];
  return graded(facts, "lens_from_plan_by_new_plan", lensText(placed), lensText(planned));
}
