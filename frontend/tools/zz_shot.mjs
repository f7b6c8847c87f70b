import { launch } from './browser.mjs'
import { serve, signedIn } from './site.mjs'
import { mkdtempSync } from 'node:fs'
import { join } from 'node:path'
const site = await serve('/work/main/swardbook', join(mkdtempSync('/tmp/shot-'), 'site'))
const browser = await launch()
for (const [n, ctx] of Object.entries({wide:{viewport:{width:1280,height:900}}, phone:{viewport:{width:360,height:740},isMobile:true}})) {
  const p = await signedIn(browser, site.address, 'officer', ctx)
  for (const [name, h] of Object.entries({book:'#/book', blast:'#/book/new/blast.1', spot:'#/book/new/spot.1', incident:'#/book/new/incident.1'})) {
    await p.goto(site.address + '/' + h); await p.waitForTimeout(800)
    await p.screenshot({path:`/tmp/shot-${name}-${n}.png`, fullPage: name!=='book'})
  }
}
process.exit(0)
