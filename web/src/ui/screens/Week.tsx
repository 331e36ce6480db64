/** One week: is it whole, what was caught, counts of chances with their intervals, quality, and the download. */
import { useEffect, useState } from "preact/hooks";

import { downloadAddress, officeWeek, type OfficeWeek } from "../../flows/office.ts";
import { protocol } from "../../state/index.ts";
import { act } from "../acts.ts";
import { GradeRing } from "../parts/GradeRing.tsx";
import { LinkSlab, Slab } from "../parts/Slab.tsx";
import { caughtCount, listedReceived, qualityRows, shownRows, weekRange } from "../model/week.ts";
import { to } from "../route.ts";
import { officeText as text } from "../text/en.ts";
import { OfficePage } from "./Office.tsx";

export function WeekPage({ week }: { readonly week: string }) {
  const { number, range } = weekRange(week);
  return (
    <OfficePage title={text.weekTitle(number, range)}>
      <WeekParts key={week} week={week} />
    </OfficePage>
  );
}

function WeekParts({ week }: { readonly week: string }) {
  const [found, setFound] = useState<OfficeWeek | null>(null);
  useEffect(() => {
    void act(officeWeek(week).then(setFound), text.week(week));
  }, [week]);
  if (found === null) return <p>{text.opening}</p>;
  return (
    <>
      <p class="stamp">
        <b>{text.internal}</b> {text.internalHint}
      </p>
      <Whole found={found} />
      <Counts found={found} />
      <Quality found={found} />
      <div class="slabs">
        <a class="slab short" href={downloadAddress(week)} download>
          <span>
            {text.download}
            <small>{text.downloadHint}</small>
          </span>
        </a>
        <LinkSlab href={to.office} look="short quiet">
          {text.back}
        </LinkSlab>
      </div>
      {found.cautions.map((line) => (
        <p key={line} class="caution">
          {line}
        </p>
      ))}
    </>
  );
}

function Whole({ found }: { readonly found: OfficeWeek }) {
  const [received, listed] = listedReceived(found);
  return (
    <div class="figures">
      <section class="figure first" aria-labelledby="whole">
        <h2 id="whole">{text.complete}</h2>
        <p>
          <b>{text.casesOf(received, listed)}</b> {text.cases}
        </p>
      </section>
      <section class="figure" aria-labelledby="caught">
        <h2 id="caught">{text.caughtTitle}</h2>
        <p>
          <b>{caughtCount(found)}</b> {text.caught}
        </p>
      </section>
    </div>
  );
}

function Counts({ found }: { readonly found: OfficeWeek }) {
  const [withZeros, setWithZeros] = useState(false);
  const rows = shownRows(found, protocol.value, withZeros);
  return (
    <section aria-labelledby="counts">
      <h2 id="counts">{text.counts}</h2>
      <p class="caution">{text.cautionRates}</p>
      {rows.length === 0 ? <p>{text.noEvents}</p> : <CountTable rows={rows} />}
      <Slab
        look="desk quiet"
        label={withZeros ? text.onlyEvents : text.all(found.rows.length)}
        onPress={() => setWithZeros(!withZeros)}
      />
    </section>
  );
}

function CountTable({ rows }: { readonly rows: ReturnType<typeof shownRows> }) {
  return (
    <div class="table-scroll" role="region" aria-labelledby="counts" tabIndex={0}>
      <table>
        <thead>
          <tr>
            {Object.values(text.table).map((name) => (
              <th key={name} scope="col">
                {name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(({ key, step, kind, grade, row }) => (
            <tr key={key}>
              <th scope="row">{step}</th>
              <td>{kind}</td>
              <td class="grade-cell">
                <GradeRing grade={grade} /> {grade}
              </td>
              <td>{row.events}</td>
              <td>{row.cases_with}</td>
              <td>{row.chances}</td>
              <td>{row.caught}</td>
              <td>{row.rate_per_100 ?? ""}</td>
              <td>{row.ci95_low === null ? "" : `${row.ci95_low} to ${row.ci95_high ?? ""}`}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Quality({ found }: { readonly found: OfficeWeek }) {
  return (
    <section aria-labelledby="quality">
      <h2 id="quality">{text.quality}</h2>
      <dl class="quality">
        {qualityRows(found).map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      <p class="caution">{text.cautionTicks}</p>
    </section>
  );
}
