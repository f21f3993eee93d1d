import "@fontsource-variable/atkinson-hyperlegible-next/wght.css";
import "./tokens.css";
import "./base.css";
import { mount } from "svelte";
import App from "./App.svelte";

mount(App, { target: document.getElementById("face")! });
