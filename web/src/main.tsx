/** Composition root of the client: theme first, then the page, then the record is opened and followed. */
import { render } from "preact";

import { start } from "./flows/index.ts";
import { App } from "./ui/App.tsx";
import { followAddress } from "./ui/route.ts";
import { applyTheme } from "./ui/theme.ts";
import { followVisibility } from "./ui/wakeLock.ts";

applyTheme();
followAddress();
followVisibility();
const root = document.getElementById("app");
if (root !== null) render(<App />, root);
void start();
