import '@fontsource/courier-prime/400.css'
import '@fontsource/courier-prime/700.css'
import '@fontsource-variable/source-sans-3/wght.css'
import './look.css'
import { mount } from 'svelte'
import { lang } from '#words'
import App from './App.svelte'

document.documentElement.lang = lang
mount(App, { target: document.getElementById('page')! })

// Kept on the device where the browser allows it: on this machine, or over TLS.
if ('serviceWorker' in navigator && import.meta.env.PROD) void navigator.serviceWorker.register('/sw.js', { type: 'module' }).catch(() => {})
