package fleet

import (
	"bytes"
	"encoding/json"
)

// Schema is the JSON Schema of a class file, made from the same tables that the reader
// uses. It lets an editor complete keys and words and show what each is for; what a
// schema cannot say (ids that must exist, units, sources) is left to Read.
func Schema() []byte {
	top := object(topKeys(), nil)
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = "Class record"
	top["description"] = "One file of a class record. A class may be one file, or a folder of files that are laid together."
	// a map with HTML characters stays as it is: nobody pastes it into a page
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(top); err != nil {
		return nil
	}
	return b.Bytes()
}

type schema = map[string]any

func text() schema { return schema{"type": []string{"string", "number"}} }

func orList(s schema) schema {
	return schema{"anyOf": []schema{s, {"type": "array", "items": s}}}
}

// object is a map with the keys of a table. A piece of a text after a comma looks to an
// editor like a key without a value; such keys are let by.
func object(specs []KeySpec, path []string) schema {
	props := schema{}
	var required []string
	for _, k := range specs {
		s := keySchema(k, append(path, k.Name))
		if k.Help != "" {
			s["description"] = k.Help
		}
		props[k.Name] = s
		if k.Required {
			required = append(required, k.Name)
		}
	}
	out := schema{"type": "object", "properties": props, "additionalProperties": schema{"type": "null"}}
	if len(required) > 0 {
		out["required"] = required
	}
	return out
}

func keySchema(k KeySpec, path []string) schema {
	switch k.Form {
	case FormTexts, FormIDs:
		return orList(text())
	case FormOneOf:
		return schema{"enum": k.Words}
	case FormYes:
		return schema{"enum": []string{"yes", "no"}}
	case FormCount:
		return schema{"type": "integer"}
	case FormDate:
		return schema{"type": "string", "pattern": `^\d{4}-\d{2}-\d{2}$`}
	case FormFacts:
		switch k.Name {
		case "stands", "move":
			claims := schema{"type": "object", "additionalProperties": text()}
			return schema{"type": "object", "properties": schema{"at cab": claims}, "additionalProperties": text()}
		case "shows":
			return orList(conditionSchema())
		}
		return schema{"type": "object", "additionalProperties": schema{"anyOf": []schema{text(), {"type": "array", "items": text()}, {"type": "null"}}}}
	case FormOutlines:
		corner := schema{"type": "array", "items": text(), "minItems": 2, "maxItems": 2}
		return schema{"type": "object", "additionalProperties": schema{"type": "array", "items": corner, "minItems": 3}}
	case FormFigures:
		return schema{"type": "object", "additionalProperties": text()}
	case FormCells:
		return schema{"type": "object", "additionalProperties": schema{"type": "array", "items": schema{"type": "integer", "minimum": 1, "maximum": mostCells}, "minItems": 2, "maxItems": 2}}
	case FormMap:
		return object(k.Keys, path)
	case FormList:
		items := object(k.Keys, path)
		if k.Name == "missing" {
			items = schema{"anyOf": []schema{{"type": "string"}, items}}
		}
		return schema{"type": "array", "items": items}
	case FormCatalog:
		switch k.Name {
		case "air":
			return schema{"type": "object", "properties": schema{"source": text()}, "additionalProperties": elementSchema(kinds())}
		case "rigging":
			return schema{"type": "object", "properties": schema{"source": text()}, "additionalProperties": elementSchema(riggingKinds())}
		case "circuits":
			return schema{"type": "object", "properties": schema{"source": text()}, "additionalProperties": elementSchema(parts())}
		case "roles":
			return rolesSchema()
		case "ends":
			end := object(k.Keys, path)
			pipes := schema{}
			for _, p := range Pipes() {
				pipes[p] = object(pipeEndKeys(), path)
			}
			props := end["properties"].(schema)
			props["pipes"] = schema{"type": "object", "properties": pipes, "additionalProperties": false, "description": "the pipes that reach this headstock"}
			return schema{"type": "object", "properties": schema{"1": end, "2": end}, "additionalProperties": false}
		case "positions":
			return schema{"type": "object", "additionalProperties": schema{"anyOf": []schema{{"type": "string", "description": "how it looks"}, object(k.Keys, path)}}}
		case "devices":
			device := object(k.Keys, path)
			props := device["properties"].(schema)
			var words []string
			for _, f := range Functions() {
				words = append(words, f.Word)
			}
			props["function"] = schema{"enum": words, "description": "what it is for: a word of the defined list"}
			return schema{"type": "object", "properties": schema{"source": text()}, "additionalProperties": device}
		}
		return schema{"type": "object", "properties": schema{"source": text()}, "additionalProperties": object(k.Keys, path)}
	}
	return text()
}

func conditionSchema() schema {
	return schema{"type": "object", "additionalProperties": orList(text())}
}

func elementSchema(kinds []KindSpec) schema {
	props := schema{"only with": text(), "only without": text(), "source": text()}
	condition := conditionSchema()
	for _, k := range kinds {
		args := schema{}
		var required []string
		for _, a := range k.Args {
			s := text()
			switch a.Kind {
			case ArgWhen:
				s = orList(condition)
			case ArgWord:
				s = schema{"enum": a.Words}
			case ArgDevices:
				s = orList(text())
			}
			help := a.Help
			if a.Kind == ArgFigure {
				if help != "" {
					help = ": " + help
				}
				help = a.Quantity.String() + help
			}
			if help != "" {
				s["description"] = help
			}
			args[a.Name] = s
			if a.Required {
				required = append(required, a.Name)
			}
		}
		o := schema{"type": "object", "description": k.Help, "properties": args, "additionalProperties": false}
		if len(required) > 0 {
			o["required"] = required
		}
		props[k.Name] = o
	}
	return schema{"type": "object", "properties": props, "additionalProperties": false}
}

func rolesSchema() schema {
	claims := schema{"type": "object", "additionalProperties": text()}
	role := schema{"type": []string{"object", "null"}, "properties": schema{
		"at cab": claims, "other cab": claims, "reversed": claims, "at front": claims, "at rear": claims, "at both ends": claims, "pipes": orList(schema{"enum": Pipes()}),
	}, "additionalProperties": text()}
	props := schema{}
	for _, n := range RoleNames() {
		props[n] = role
	}
	return schema{"type": "object", "properties": props, "additionalProperties": role}
}
