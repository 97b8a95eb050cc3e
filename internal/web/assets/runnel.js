// What the pages do beyond plain links and forms. Every page works without it, except for dropping a folder.
import { keys } from "./keys.js";
import { drop } from "./drop.js";
import { pull } from "./pull.js";
import { find } from "./find.js";
import { cards } from "./cards.js";
import { pick } from "./pick.js";

keys(document);
for (const form of document.querySelectorAll("[data-drop]")) drop(form);
for (const form of document.querySelectorAll("[data-pick]")) pick(form);
for (const part of document.querySelectorAll("[data-pull]")) pull(part);
for (const list of document.querySelectorAll("[data-cards]")) cards(list);
for (const field of document.querySelectorAll("[data-find]")) find(field);

// On a narrow page the open tab may lie beyond the edge.
document.querySelector(".tabs [aria-current]")?.scrollIntoView({ inline: "center", block: "nearest" });
