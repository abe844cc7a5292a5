// What the page runs first.

import { edition, m_main } from "/page.js";

m_main.start(edition);
