// What the page runs first.

import * as calc from "/calc.js";
import * as page from "/page.js";

page.m_main.start([page.edition, calc.edition]);
