/** Help: what the app is, its cautions, the keyboard, and working with no network. It works offline. */
import { Page } from "../parts/Page.tsx";
import { helpParts, pageText } from "../text/en.ts";

export function Help() {
  return (
    <Page title={pageText.pages.help} look="desk-page">
      {helpParts.map(({ title, lines }) => (
        <section key={title} class="help-part">
          <h2>{title}</h2>
          <ul>
            {lines.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
        </section>
      ))}
    </Page>
  );
}
