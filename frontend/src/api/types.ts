// Shapes of the answers, made from the server's own document (npm run types).
import type { components } from './schema.gen'

type Schemas = components['schemas']

export type Amended = Schemas['Amended']
export type Checklist = Schemas['Checklist']
export type Duty = Schemas['Duty']
export type DutyList = Schemas['DutyList']
export type Episode = Schemas['Episode']
export type EntryLine = Schemas['EntryLine']
export type EntryPage = Schemas['EntryPage']
export type Field = Schemas['Field']
export type Handover = Schemas['Handover']
export type ForetoldAll = Schemas['ForetoldAll']
export type Hold = Schemas['Hold']
export type Judgement = Schemas['Judgement']
export type InstrumentList = Schemas['InstrumentList']
export type InstrumentRecord = Schemas['InstrumentRecord']
export type Kind = Schemas['Kind']
export type Ledger = Schemas['Ledger']
export type LeftOut = Schemas['LeftOut']
export type Distribution = Schemas['Distribution']
export type WindRose = Schemas['WindRose']
export type ShotLog = Schemas['ShotLog']
export type ShotCharge = Schemas['ShotCharge']
export type Machine = Schemas['Machine']
export type MachineShake = Schemas['MachineShake']
export type Logger = Schemas['Logger']
export type NewLogger = Schemas['NewLogger']
export type PastMapping = Schemas['PastMapping']
export type Levels = Schemas['Levels']
export type Clause = Schemas['Clause']
export type ConditionRead = Schemas['ConditionRead']
export type ConditionTried = Schemas['ConditionTried']
export type MayI = Schemas['MayI']
export type OneCondition = Schemas['OneCondition']
export type Raster = Schemas['Raster']
export type Readings = Schemas['Readings']
export type Section = Schemas['Section']
export type Session = Schemas['Session']
export type Site = Schemas['Site']
export type Survey = Schemas['Survey']
export type Today = Schemas['Today']
export type User = Schemas['User']
export type NoticeRead = Schemas['NoticeRead']
export type VerdictWord = Judgement['verdict']
export type Vocabulary = Schemas['Vocabulary']
export type WindowPage = Schemas['WindowPage']

/** What an entry's envelope and body hold, as canonical JSON. */
export interface Entry {
  id: string
  seq: number
  kind: string
  places?: string[]
  at: string
  until?: string
  at_precision: string
  offset?: string
  made?: string
  recorded: string
  by: string
  role: string
  supersedes?: string
  reason?: string
  files?: string[]
  body?: Record<string, unknown>
  erased_by?: number
}

/** One entry whole. */
export type OpenEntry = Omit<Schemas['OpenEntry'], 'entry'> & { entry: Entry }

/** The plan: features are GeoJSON in metres of the site's own grid. */
export type Plan = Omit<Schemas['Plan'], 'features'> & {
  features: {
    type: 'FeatureCollection'
    features: {
      type: 'Feature'
      geometry: { type: string; coordinates: unknown }
      properties: { code: string; kind: string; label: string; measure?: string }
    }[]
  }
}
export type FileMapping = Schemas['FileMapping']
export type ImportTrial = Schemas['ImportTrial']
export type LoggerFile = Schemas['LoggerFile']
export type Channel = Schemas['Channel']
export type RejectTrial = Schemas['RejectTrial']
