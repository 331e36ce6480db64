/** The opening in the lens drawn to scale inside the optic, with the overlap that is left all round. */
import { shownText } from "../text/en.ts";
import { quantity } from "../format/quantities.ts";

export interface OverlapProps {
  readonly optic_um: number;
  readonly diameter_um: number;
  readonly decentration_um: number;
  readonly least_um: number;
}

const RADIUS = 90;

export function OverlapPicture({ optic_um, diameter_um, decentration_um, least_um }: OverlapProps) {
  const perUm = (2 * RADIUS) / Math.max(optic_um, diameter_um + 2 * decentration_um);
  const opening = (diameter_um / 2) * perUm;
  const margin_um = (optic_um - diameter_um) / 2 - decentration_um;
  const words = quantity(Math.round(margin_um / 10) * 10, "margin_um");
  const centre = 98 + decentration_um * perUm;
  return (
    <div class="overlap">
      <svg viewBox="0 0 196 196" role="img" aria-label={shownText.overlapRead(mm(optic_um), mm(diameter_um))}>
        <circle
          cx="98"
          cy="98"
          r={(optic_um / 2) * perUm}
          class="ink-fill"
          stroke="currentColor"
          stroke-width="4"
        />
        <circle cx={centre} cy="98" r={opening} class="line-live ink-ground" stroke-width="7" />
        <text x="98" y="94" text-anchor="middle" font-size="44" font-weight="800">
          {mm(diameter_um).replace("\u00a0mm", "")}
        </text>
        <text x="98" y="132" text-anchor="middle" font-size="32" font-weight="600">
          {shownText.ofOptic(mm(optic_um).replace("\u00a0mm", ""))}
        </text>
      </svg>
      <p>
        <b>{words}</b>
        {shownText.overlap(quantity(least_um, "least_um").replace("\u00a0mm", ""))}
      </p>
    </div>
  );
}

function mm(length_um: number): string {
  return quantity(length_um, "length_um");
}
