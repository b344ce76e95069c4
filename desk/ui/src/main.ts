import '@fontsource/courier-prime/400.css'
import '@fontsource/courier-prime/700.css'
import '@fontsource-variable/source-sans-3/wght.css'
import './look.css'
import { mount } from 'svelte'
import { lang } from '#words'
import App from './App.svelte'

document.documentElement.lang = lang
mount(App, { target: document.getElementById('page')! })
