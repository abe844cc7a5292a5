// What the page runs first.

import { m_main } from "/page.js";

m_main.start();
