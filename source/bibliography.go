package source

// Bibliography is every source that a figure may cite by key. A text that was read only
// through somebody else's quotation says so in Where, and stands no higher than that.
func Bibliography() []Ref {
	return []Ref{
		// the plain words
		{"invented", "invented for this record", "no source: stands for the invented railway", Invented},
		{"from memory", "from memory", "no source was read", FromMemory},
		{"common practice", "common practice of the trade", "no source was read; local rules decide", CommonPractice},
		{"calibrated", "tuned until an answer met a measured or published one", "no proof of what it was tuned to", Calibrated},
		{"measured", "measured on the vehicle", "the unit's own entry, with its date", Measured},
		{"railway", "the railway's own instructions", "the railway's own rules", Railway},
		// law
		{"cfr-229", "Code of Federal Regulations, title 49, part 229", "2015 annual edition; some sections from 2007", Law},
		{"cfr-230", "Code of Federal Regulations, title 49, part 230", "2015 annual edition", Law},
		{"cfr-231", "Code of Federal Regulations, title 49, part 231", "2015 annual edition", Law},
		{"cfr-232", "Code of Federal Regulations, title 49, part 232", "2015 annual edition; 232.207 and 232.215 from 2002 to 2007 editions", Law},
		{"cfr-240", "Code of Federal Regulations, title 49, part 240", "one stored version", Law},
		// standards
		{"iso-6358", "ISO 6358, flow-rate characteristics of components using compressible fluids", "summaries on public standards pages", Standard},
		{"iso-6358-3", "ISO 6358-3:2014", "abstract only", Standard},
		{"iso-1219-1", "ISO 1219-1, graphical symbols for fluid power", "symbols only", Standard},
		{"nist-sp-811", "NIST Special Publication 811, guide for the use of the SI", "2008, appendix B.8", Standard},
		{"rdso-wd-23-bmbs-2008", "RDSO WD-23-BMBS-2008, bogie mounted brake system", "read in full", Standard},
		{"g-97", "single-wagon air brake test limits, maintenance manual G-97", "reproduced in a public repository; original not re-read", Standard},
		{"uic-540", "UIC 540, air brakes", "first pages and a web summary only", FromMemory},
		{"uic-543", "UIC 543, timing table", "web summary, 2023", FromMemory},
		{"uic-544-1", "UIC 544-1, braking power", "first pages only", FromMemory},
		{"nzr-1974", "air brake code of October 1974", "text copy", Railway},
		// manuals and handbooks
		{"tm-55-2210-224-34", "US Army TM 55-2210-224-34, diesel-electric locomotive maintenance", "section 2-9, standing air brake test", Book},
		{"tm-55-2210-224-12", "US Army TM 55-2210-224-12", "1987, section 2-13, train terminal test", Book},
		{"tm-55-2210-223-34", "US Army TM 55-2210-223-34", "section 2-9", Book},
		{"tm-55-1279", "US Army TM 55-1279", "1955, single pages", Book},
		{"tm-55-203", "US Army TM 55-203, freight triple valve operation", "pages about figures 8-46 to 8-48", Book},
		{"tc-55-88-1", "US Army TC 55-88-1", "2008, single pages", Book},
		{"tr0675", "US Army Transportation School, TR0675 series", "single pages", Book},
		{"navy-p-301", "US Navy P-301, train-line air brake test", "single pages", Book},
		{"alaska-1996", "Air Brakes and Train Handling Rules, Alaska Railroad", "June 1996, pages 61-4 to 67-12", Railway},
		{"farokhi", "Farokhi, Aircraft Propulsion, 2nd edition", "appendix E, Fanno flow", Book},
		{"moss-1906", "S. A. Moss, discharge of air through an orifice", "American Machinist, 20 September 1906, by a public table", Paper},
		{"britannica-1911", "Encyclopædia Britannica, 11th edition, Hydraulics", "sections 62 to 64, Weisbach's coefficients", Book},
		{"isentropic-table", "aeronautical engineer's data book, appendix 4", "subsonic rows", Book},
		{"perry-1949", "discharge coefficients of sharp-edged orifices", "Perry, 1949, from memory", FromMemory},
		{"naca-1135", "NACA Report 1135, equations, tables and charts for compressible flow", "1953", Book},
		{"naca-tn-1592", "NACA Technical Note 1592, compressible flow tables for air", "abstract", Book},
		{"tea-questions", "Traveling Engineers' Association, examination questions", "questions 134 to 148 and 184 to 188", Book},
		{"shade-1913", "H. M. Shade, 1000 Practical Air Brake Questions and Answers", "1913, excerpt", Book},
		{"prout-1921", "H. G. Prout, A Life of George Westinghouse", "1921, page 55", Book},
		{"railway-club-1930s", "official proceedings of a railway club, freight brake equipment", "1930s, figures 34 to 38", Paper},
		{"cyclopedia-locomotive", "Cyclopedia of Locomotive Engineering", "dead engine feature", Book},
		{"wu-2023", "Wu and others, freight train air brake models", "International Journal of Rail Transportation 11(1), 2023; abstract", Paper},
		{"abdol-hamid-1988", "Abdol-Hamid and others", "Journal of Dynamic Systems, Measurement and Control 110(3), 1988; abstract", Paper},
		{"katz-1977", "Katz and Cheng, network approach to brake pipe leakage", "ASME 77-WA/Flcs-10, 1977; abstract", Paper},
		{"ripley-2004", "Ripley, brake application delays in train brake systems", "M.Eng. thesis, 2004; abstract", Paper},
		// texts at second hand
		{"tst-study-cards", "public study cards on brake valve tests and train examination, 500 kPa", "secondary; rows TST-055 to TST-062", CommonPractice},
		{"railroad-values", "community compilation of railroad values", "no author or year; secondary", FromMemory},
		{"operating-questions", "operating-rule study questions", "public pages; secondary", CommonPractice},
		{"coach-proforma", "coach maintenance manual proforma", "Indian Railways; read", Railway},
		{"rules-of-the-trade", "collected limits of the trade", "rows INS, DEL, TST, PRF, SEC and MUA, each with its own source", CommonPractice},
	}
}
